"""The drawings that a step can show, with words for choosing among them."""

from __future__ import annotations

from functools import cache

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from webapp.assets import STATIC
from webapp.ui.goes_wrong import SUFFIX

WORDS = {
    "warm-meter": _l("Warm the meter"),
    "sample-tray": _l("Take the sample from the tray"),
    "cool-sample": _l("Let the sample cool"),
    "fill-deep": _l("Fill the deep dish"),
    "level-deep": _l("Level the deep dish"),
    "look-deep": _l("Look across the deep dish"),
    "seat-deep": _l("Seat the meter on the deep dish"),
    "grinder-purge": _l("Purge the grinder"),
    "grinder-setting": _l("Check the grinder's setting"),
    "grinder-grind": _l("Grind the sample"),
    "spread-shallow": _l("Spread in the shallow dish"),
    "level-shallow": _l("Level the shallow dish"),
    "look-shallow": _l("Look across the shallow dish"),
    "seat-shallow": _l("Seat the meter on the shallow dish"),
}


@cache
def picture_names() -> tuple[str, ...]:
    """Every drawing there is, by file name without .svg: those with words first, in the order of the work.

    Not those of what goes wrong: they come with the drawing that they belong to.
    """
    there = {path.stem for path in (STATIC / "pictures").glob("*.svg") if not path.stem.endswith(SUFFIX)}
    return tuple(name for name in WORDS if name in there) + tuple(sorted(there - set(WORDS)))


def picture_choices() -> list[tuple[str, str]]:
    """(value, words) for a select, beginning with none."""
    return [("", _("No picture"))] + [
        (name, str(WORDS.get(name) or name.replace("-", " ").capitalize())) for name in picture_names()
    ]
