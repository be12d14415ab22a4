"""What can be behind a signal, and how it stands, in words, wherever it is told."""

from __future__ import annotations

from flask_babel import format_date
from flask_babel import gettext as _

from webapp.store import times
from webapp.store.signal_notes import Cause, Note
from webapp.ui.filters import site_zone


def cause_words(cause: Cause) -> str:
    """A cause as it follows a colon: `Known: another coffee`."""
    return {
        "unknown": _("not known yet"), "coffee": _("another coffee"), "roast": _("roasted another way"),
        "machine": _("the machine"), "grinder": _("the grinder"), "meter": _("the meter"),
        "preparation": _("prepared or read another way"), "surroundings": _("the room or the weather"),
        "mix_up": _("a mix-up"), "chance": _("chance"), "other": _("something else"),
    }[cause]  # fmt: skip


def cause_choices() -> list[tuple[Cause, str]]:
    """The same to choose from, each with what belongs to it."""
    words: dict[Cause, str] = {
        "unknown": _("Not known yet: it is being looked for"),
        "coffee": _("Another coffee: lot, crop, moisture, the mix of a blend"),
        "roast": _("Roasted another way: profile, batch size, a slip"),
        "machine": _("The machine: burner, airflow, a probe, cleaning"),
        "grinder": _("The grinder: setting, burrs, alignment"),
        "meter": _("The meter: drift, a dirty window, an adjustment"),
        "preparation": _("Prepared or read another way: dish, levelling, beans still warm"),
        "surroundings": _("The room or the weather: heat, cold, moisture"),
        "mix_up": _("A mix-up: another batch was read, or noted under a wrong name"),
        "chance": _("Chance: it was looked into, and nothing was found"),
        "other": _("Something else: say what"),
    }
    return list(words.items())


def note_words(note: Note) -> str:
    """How a signal stands by its newest note, in one sentence or two."""
    day = format_date(times.from_text(note.made_at).astimezone(site_zone()).date(), "d MMM")
    about, cause = {"name": note.person_name, "day": day}, cause_words(note.cause)
    if note.closed:
        return _("Known: %(cause)s. Closed by %(name)s, %(day)s.", cause=cause, **about)
    if note.cause == "unknown":
        return _("%(name)s has been looking into it since %(day)s.", **about)
    return _("Perhaps %(cause)s. %(name)s has been looking into it since %(day)s.", cause=cause, **about)
