"""The blueprint; views.py gathers the views that belong to it."""

from flask import Blueprint

people = Blueprint("people", __name__)
