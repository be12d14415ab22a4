"""What can be behind a signal, in words, wherever it is told."""

from __future__ import annotations

from flask_babel import gettext as _

from webapp.store.signal_notes import Cause


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
