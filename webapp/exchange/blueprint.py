"""The blueprint of exchange."""

from flask import Blueprint

exchange = Blueprint("exchange", __name__)
