"""The blueprint; views.py gathers the views that belong to it."""

from flask import Blueprint

gear = Blueprint("gear", __name__)
