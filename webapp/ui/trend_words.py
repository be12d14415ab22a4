"""How a product stands, in sentences: the same on the result screen, the strip and the overview. And what happened, for
every place that tells it."""

from __future__ import annotations

from dataclasses import dataclass

from flask_babel import format_date, ngettext
from flask_babel import gettext as _

from webapp.store import times
from webapp.store.standings import Stand
from webapp.store.trend_events import Event
from webapp.store.trend_states import State
from webapp.ui.cause_words import note_words
from webapp.ui.filters import method_text, site_zone


@dataclass(frozen=True)
class Said:
    """look: 'changed', 'known', 'off', 'leave' or '' while nothing can be said: sign and colour; title is the answer,
    text why."""

    look: str
    title: str
    text: str


def look_of(stand: Stand) -> str:
    """See Said.look."""
    return ("changed", "off", "known", "leave", "")[stand.rank]


def standing_words(stand: Stand) -> Said:
    """How a product stands in one kind, with its name: `Paper Boat is walking darker`."""
    state, look = stand.state, look_of(stand)
    if state.changed:
        text = since_words(stand)
        return Said(look, changed_title(stand), f"{text} {note_words(stand.note)}" if stand.note else text)
    name = {"name": subject(stand)}
    if look == "off":
        if state.word == "cannot_hold":
            return Said(look, _("%(name)s cannot hold its band", **name), off_text(state))
        if state.side == "darker":
            return Said(look, _("%(name)s lies too near to the dark limit", **name), off_text(state))
        return Said(look, _("%(name)s lies too near to the light limit", **name), off_text(state))
    if look == "":
        return Said(look, _("%(name)s: too early to say", **name), missing_words(state))
    return Said(look, _("%(name)s runs steadily", **name), steady_text(state))


def short_words(stand: Stand) -> str:
    """The same without its name, for a line that has it: `Walking darker. Running mean beyond its limit ...`"""
    state, look = stand.state, look_of(stand)
    if state.changed:
        said = f"{went_words(stand)} {since_words(stand)}"
        return f"{said} {note_words(stand.note)}" if stand.note else said
    if look == "off":
        if state.word == "cannot_hold":
            return _("Steady, but it varies more than its band allows.")
        if state.side == "darker":
            return _("Steady, but too near to the dark limit.")
        return _("Steady, but too near to the light limit.")
    return missing_words(state) if look == "" else steady_text(state)


def aside(stand: Stand) -> str:
    """What stands below the title on a card, as short as it can be."""
    if stand.note:
        return note_words(stand.note)
    if stand.state.changed:
        return since_words(stand)
    return _("More care will not help.") if stand.state.word == "cannot_hold" else _("Move the roast as a whole, once.")


def went_words(stand: Stand) -> str:
    """Where it went, in two words."""
    if stand.state.side == "darker":
        return _("Went darker.") if jumped(stand.state) else _("Walking darker.")
    return _("Went lighter.") if jumped(stand.state) else _("Walking lighter.")


def jumped(state: State) -> bool:
    """Whether a few batches lie far out, and the running mean has not followed them since: no walk."""
    followed = state.lean is not None and (state.lean < -1 if state.side == "darker" else state.lean > 1)
    return state.rule in (1, 2) and not (followed and state.point_batch_id != state.last_batch_id)


def subject(stand: Stand) -> str:
    """What has moved: the product, or its ground coffee against its whole bean."""
    if stand.state.kind == "difference":
        return _("%(name)s, ground against whole bean,", name=stand.product_name)
    return stand.product_name


def changed_title(stand: Stand) -> str:
    """What a signal says of a product."""
    name, darker = {"name": subject(stand)}, stand.state.side == "darker"
    if jumped(stand.state):
        return _("%(name)s went darker", **name) if darker else _("%(name)s went lighter", **name)
    return _("%(name)s is walking darker", **name) if darker else _("%(name)s is walking lighter", **name)


def since_words(stand: Stand) -> str:
    """What fired, and since which batch."""
    code = {"code": stand.since_code}
    return {
        0: _("Running mean beyond its limit since %(code)s.", **code),
        1: _("%(code)s lies further out than chance explains.", **code),
        2: _("Two of three far out since %(code)s.", **code),
        3: _("Four of five on that side since %(code)s.", **code),
        4: _("Eight in a row on that side since %(code)s.", **code),
    }[stand.state.rule]


def off_text(state: State) -> str:
    """Steady, and surely not right."""
    if state.word == "cannot_hold":
        return _("Steady, but it varies more from batch to batch than the band allows. More care will not help.")
    return _("Steady, in the wrong place. Move the roast as a whole, once, and look again.")


def steady_text(state: State) -> str:
    """That nothing stands; and half way to a limit it is worth a look."""
    if state.lean is not None and abs(state.lean) >= LEANING:
        return _("Leans darker, within chance.") if state.lean < 0 else _("Leans lighter, within chance.")
    return _("Nothing says that anything changed.")


# From half of the way to its limit on the running mean is worth a word. Our own convention, no source.
LEANING = 0.5


def missing_words(state: State) -> str:
    """How many batches are still needed."""
    return ngettext("%(num)d more batch is needed.", "%(num)d more batches are needed.", state.missing)


def event_words(event: Event) -> str:
    """What happened, in a few words."""
    name = event.name
    return {
        "burrs": _("New burrs: %(name)s", name=name), "setting": _("Setting moved: %(name)s", name=name),
        "aligned": _("Aligned: %(name)s", name=name), "cleaned": _("Cleaned: %(name)s", name=name),
        "adjusted": _("Meter adjusted: %(name)s", name=name), "failed": _("Meter check failed: %(name)s", name=name),
        "plate": _("New reference plate: %(name)s", name=name),
        "plate_value": _("Reference plate given another value: %(name)s", name=name),
        "plate_damaged": _("Reference plate damaged: %(name)s", name=name),
        "version": _("New version of the method: %(name)s", name=method_name(name)),
        "read_otherwise": _("Before this read otherwise: %(name)s", name=method_name(name)),
        "targets": _("Targets, version %(no)s", no=name), "lot": _("First batch of lot %(name)s", name=name),
        "person": _("First read by %(name)s", name=name), "machine": _("First on %(name)s", name=name),
        "meter": _("First read on %(name)s", name=name),
    }[event.what]  # fmt: skip


def method_name(text: str) -> str:
    """A method's name and the number of its version, as an event has them."""
    name, _space, no = text.rpartition(" ")
    return _("%(method)s, version %(no)s", method=method_text(name), no=no)


def day_of_time(text: str, year: bool = False) -> str:
    """Stored time as `14 May` at the site, or with its year."""
    day = times.from_text(text).astimezone(site_zone()).date()
    return format_date(day, "d MMM y" if year else "d MMM")


def dated(event: Event) -> str:
    """An event with its day."""
    return f"{day_of_time(event.at)}: {event_words(event)}"
