"""The blueprint of trends."""

from flask import Blueprint

trends = Blueprint("trends", __name__)
