"""The blueprint; views.py gathers the views that belong to it."""

from flask import Blueprint

api = Blueprint("api", __name__)
