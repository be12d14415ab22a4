"""The blueprint of studies; views.py gathers the views that belong to it."""

from flask import Blueprint

studies = Blueprint("studies", __name__)
