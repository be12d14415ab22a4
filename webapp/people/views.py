"""People and tablets: set-up, sign-in and lock, one's own page, and what a lead looks after."""

from webapp.people import door, enrolling, own, settings, staff, tablets
from webapp.people.blueprint import people

__all__ = ["door", "enrolling", "own", "people", "settings", "staff", "tablets"]
