"""The advice beside a batch's verdict: leave the roast alone, or look for what changed.

Only where the batch is the newest of its product that was read in that kind. How the product stands now says nothing of
an older batch, and beside its verdict it would be taken for that.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from flask import url_for
from flask_babel import gettext as _
from flask_babel import ngettext
from sqlite_utils import Database

from webapp.store import standings
from webapp.store.standings import Stand
from webapp.ui import trend_words
from webapp.ui.verdict_words import kind_word


@dataclass(frozen=True)
class Line:
    """What one kind says, or several alike. happened: what the logs show of that time; url: of its trend."""

    name: str
    text: str
    happened: tuple[str, ...]
    url: str


@dataclass(frozen=True)
class Advice:
    """look: as in trend_words.Said; title is the answer in one sentence; lines: by kind; then: what to do."""

    look: str
    title: str
    lines: tuple[Line, ...]
    then: str = ""


def advice_on(db: Database, batch_id: str, verdict: str) -> Advice | None:
    """The advice on the newest batch of a product; None for any other. verdict: the batch's own."""
    stands = standings.of_batch(db, batch_id)
    if not stands:
        return None
    first = min(stand.rank for stand in stands)
    telling = [stand for stand in stands if stand.rank == first]
    look = trend_words.look_of(telling[0])
    if look in ("changed", "known"):
        return changed(db, look, telling)
    if look == "off":
        return off(telling)
    if look == "leave":
        return leave(telling, verdict)
    more = min(stand.state.missing for stand in telling)
    text = ngettext(
        "Whether the roast is steady can be said after %(num)d more batch.",
        "Whether the roast is steady can be said after %(num)d more batches.", more,
    )  # fmt: skip
    return Advice("", text, ())


def changed(db: Database, look: str, telling: list[Stand]) -> Advice:
    """A signal stands."""
    code = {"code": telling[0].since_code}
    darker = telling[0].state.side == "darker"
    lines = tuple(
        line(stand, f"{trend_words.since_words(stand)} {trend_words.note_words(stand.note)}" if stand.note
             else trend_words.since_words(stand),
             () if look == "known" else tuple(map(trend_words.dated, standings.near(db, stand.state))))
        for stand in telling
    )  # fmt: skip
    if look == "known":
        return Advice(look, _("Something changed, and it is known."), lines)
    if telling[0].state.kind == "difference":
        title = (
            _("Something changed: ground is darker against whole bean since %(code)s.", **code) if darker
            else _("Something changed: ground is lighter against whole bean since %(code)s.", **code)
        )  # fmt: skip
    elif darker:
        title = _("Something changed: darker since %(code)s.", **code)
    else:
        title = _("Something changed: lighter since %(code)s.", **code)
    if telling[0].note:
        return Advice(look, title, lines, _("Ask them before you touch the roast."))
    return Advice(look, title, lines, _("Look for what it was before you touch the roast."))


def off(telling: list[Stand]) -> Advice:
    """Steady, and surely not right."""
    first = telling[0].state
    if first.word == "cannot_hold":
        title = _("This process cannot hold this band.")
    elif first.side == "darker":
        title = _("Steady, but too near to the dark limit.")
    else:
        title = _("Steady, but too near to the light limit.")
    same = [stand for stand in telling if (stand.state.word, stand.state.side) == (first.word, first.side)]
    kinds = " · ".join(kind_word(stand.state.kind) for stand in same)
    told = line(same[0], trend_words.off_text(first))
    return Advice("off", title, (replace(told, name=kinds),))


def leave(telling: list[Stand], verdict: str) -> Advice:
    """Nothing stands. Where this batch is out it is still one batch: to chase it would make the next ones worse."""
    if verdict in ("outside", "undecided"):
        title = _("One batch is no reason to move the roast: nothing says that anything changed.")
    else:
        title = _("Leave the roast alone: nothing says that anything changed.")
    return Advice("leave", title, tuple(line(stand, "") for stand in telling))


def line(stand: Stand, text: str, happened: tuple[str, ...] = ()) -> Line:
    """A kind with the way to its trend."""
    state = stand.state
    url = url_for("trends.trend", product_id=state.product_id, kind=state.kind)
    return Line(kind_word(state.kind), text, happened, url)
