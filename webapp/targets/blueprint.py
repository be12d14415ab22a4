"""The blueprint of products and their targets."""

from flask import Blueprint

targets = Blueprint("targets", __name__)
