"""A stretch of days as a form's address has it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from flask_babel import gettext as _


@dataclass(frozen=True)
class Span:
    """since, until: first and last calendar day (`2026-05-14`), '' for no end and for what is no day; problems: (id of
    a field, message)."""

    since: str
    until: str
    problems: tuple[tuple[str, str], ...]


def read_span(since: str, until: str) -> Span:
    """What was typed into the fields `since` and `until`."""
    days, problems = {}, []
    for name, text in (("since", since), ("until", until)):
        try:
            days[name] = _day(text).isoformat() if text else ""
        except ValueError:
            days[name] = ""
            problems.append((f"{name}-field", _("Write a day as year, month, day: 2026-05-14.")))
    if days["since"] and days["until"] and days["since"] > days["until"]:
        problems.append(("until-field", _("The last day lies before the first one.")))
    return Span(days["since"], days["until"], tuple(problems))


def _day(text: str) -> date:
    """ValueError where it is no day, or the calendar ends beside it: in another time zone it would begin outside."""
    day = date.fromisoformat(text)
    if not date.min.year < day.year < date.max.year:
        raise ValueError(text)
    return day
