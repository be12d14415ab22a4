"""People and tablets: set-up, sign-in and lock, one's own page, and what a lead looks after."""

from webapp.people import door, enrolling, own, progress, settings, staff, tablets
from webapp.people.blueprint import people

__all__ = ["door", "enrolling", "own", "people", "progress", "settings", "staff", "tablets"]
