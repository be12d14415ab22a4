"""What goes wrong where a step is skipped or hurried: one sentence for each drawing that a step can show.

It stands below the drawing of the same name with `-wrong` behind it (static/pictures), so that a step needs no field
of its own for it. All of it is common practice, no source, but for the grinder's setting (finer grounds of the same
coffee read lighter), which a bench can see for itself by a comparison of two settings. Nothing here says by how much:
that differs from coffee to coffee, and no published number was found.
"""

from __future__ import annotations

from flask_babel import lazy_gettext as _l

SUFFIX = "-wrong"
GOES_WRONG = {
    "warm-meter": _l("Read too early: the first numbers walk, and the coffee is the same."),
    "sample-tray": _l("All from one spot: the dish is not like the rest of the tray."),
    "cool-sample": _l("Still warm: heat rises from a heap, and the meter warms on it."),
    "fill-deep": _l("Pressed or shaken: the beans lie closer together than in the next dish."),
    "level-deep": _l("A heap lies nearer to the window, a hollow farther away."),
    "look-deep": _l("A proud bean lifts the meter; a hole under the window reads darker."),
    "seat-deep": _l("Not flat: light from the room comes in under the meter."),
    "grinder-setting": _l("Another setting: the same coffee, ground finer, reads lighter."),
    "grinder-purge": _l("Not purged: what was left in the grinder lies in this batch's dish."),
    "grinder-grind": _l("Not stirred: coarse lies apart from fine, and no two spoonfuls are alike."),
    "spread-shallow": _l("Heaped on one side: the other side is all but empty."),
    "level-shallow": _l("Pressed down: the surface is smooth, and can send light back differently."),
    "look-shallow": _l("A hole: the number hangs on where the meter happens to stand."),
    "seat-shallow": _l("Not flat: light from the room comes in under the meter."),
}


def goes_wrong(picture: str) -> str:
    """The sentence for a step's picture, in the page's language; "" for none, or one that has no such drawing."""
    return str(GOES_WRONG.get(picture, ""))
