"""What is said beside a typed reading that cannot be taken."""

from __future__ import annotations

from flask_babel import gettext as _

from webapp import measure


def shown(value: float, step: float) -> str:
    """A number on the scale, printed to its step."""
    return measure.show_value(value, step)


def refusal(problem: measure.ReadingProblem, lower: float, upper: float, step: float) -> str:
    """Why a typed reading cannot be taken, and what to do. Scale units."""
    if problem.code == "off_scale":
        text = _("This scale runs from %(low)s to %(high)s.", low=shown(lower, step), high=shown(upper, step))
        if problem.suggestion_hundredths is not None:
            text = _("%(value)s?", value=shown(problem.suggestion_hundredths / 100, step)) + " " + text
        return text
    if problem.code == "which":
        first = shown(problem.suggestion_hundredths / 100, step)
        return _("There is more than one number in this. Is it %(value)s? If not, type the one that is.", value=first)
    known = {
        "empty": _("Type what the meter shows."),
        "two_marks": _("Use one point or one comma, as in 56.2."),
        "digits": _("Use the digits 0 to 9."),
        "too_fine": _("This scale goes in steps of %(step)s.", step=shown(step, step)),
    }
    return known.get(problem.code, _("Type a number as the meter shows it, such as 56.2."))
