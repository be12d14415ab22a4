"""The blueprint of blends."""

from flask import Blueprint

blends = Blueprint("blends", __name__)
