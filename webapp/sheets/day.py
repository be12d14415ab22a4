"""The sheet of a day, for the shift that takes over: what waits, every batch, checks, what changed, who worked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from flask import g, url_for
from flask_babel import format_date
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.measure import show_signed
from webapp.store import day_sheets, look_backs, standings, strip_days, times
from webapp.store.day_sheets import DayCheck, Logged, Worker
from webapp.store.standings import Stand
from webapp.store.strip_days import StripBatch, StripPart
from webapp.store.trend_events import Event
from webapp.ui import trend_words
from webapp.ui.decision_words import decided as decided_word
from webapp.ui.decision_words import why_word
from webapp.ui.filters import clock, shade
from webapp.ui.numbers import decimal_mark, scale_exact
from webapp.ui.strip_words import Words, counts, heading, reason, words
from webapp.ui.verdict_words import kind_word

# A lane is WIDE units wide, the target in its middle; what lies beyond REACH half bands is pinned there, with an arrow.
WIDE, UNIT, REACH = 120, 22, 2.3
# So many batches of earlier days are told; the rest is counted.
MOST_OLDER = 12
# So many letters of what was said with a decision: the record has all of it.
MOST_LETTERS = 120


@dataclass(frozen=True)
class Spot:
    """A mark on a lane. far: 'lighter' or 'darker' if it lies beyond the lane."""

    kind: str
    x: float
    shade: str
    ring: str
    far: str


@dataclass(frozen=True)
class Row:
    """A batch: its marks, and every word about it. values: whole bean, ground, difference."""

    batch: StripBatch
    at: str
    url: str
    verdict: str
    decision: str
    values: tuple[str, str, str]
    spots: tuple[Spot, ...]


@dataclass(frozen=True)
class Waits:
    """A batch that waits, and why; said: what was said with its decision."""

    row: Row
    why: str
    said: str


@dataclass(frozen=True)
class Page:
    """The sheet. Lists of texts: signs (look, title, kind, text) of how products stand, None on another day than today;
    older: (code, day, product, why)."""

    day: str
    name: str
    heading: str
    counts: list[tuple[str, str | None, str]]
    waits: tuple[Waits, ...]
    older: tuple[tuple[str, str, str, str], ...]
    more_older: int
    look_backs: int
    signs: tuple[tuple[str, str, str, str], ...] | None
    rows: tuple[Row, ...]
    checks: tuple[tuple[str, str, str], ...]
    logged: tuple[tuple[str, str, str], ...]
    workers: tuple[tuple[str, str], ...]


def make(db: Database, day: str) -> Page:
    """The sheet of a day (`2026-05-14`) of the site's calendar."""
    there, say = strip_days.get_day(db, day), words()
    since, until = (times.to_text(moment) for moment in times.day_bounds(day, g.site.time_zone))
    is_today = day == times.local_day(g.now, g.site.time_zone)
    rows, said = tuple(row(batch, say) for batch in there.batches), day_sheets.reasons(db, day)
    # What waits from before, and how products stand, is told as it is now: on an older day it would be taken for then.
    older, many = day_sheets.list_older(db, day, MOST_OLDER) if is_today else ([], 0)
    return Page(
        day, format_date(date.fromisoformat(day), "EEEE d MMMM y"), heading(there.batches), counts(there.batches),
        tuple(Waits(one, " ".join(reason(one.batch, say)), cut(said.get(one.batch.id, ""))) for one in rows
              if one.batch.waits),
        tuple((one.code, short_day(one.day), one.product_name, why_word(one.why).lower()) for one in older),
        many - len(older), len(look_backs.open_checks(db)) if is_today else 0,
        tuple(sign_words(one) for one in standings.of_day(db, day)) if is_today else None, rows,
        tuple(check_words(one) for one in day_sheets.list_checks(db, since, until)),
        tuple(logged_words(one) for one in day_sheets.list_logged(db, since, until)),
        tuple(worker_words(one) for one in day_sheets.list_workers(db, day, since, until)),
    )  # fmt: skip


def row(batch: StripBatch, say: Words) -> Row:
    """A batch as texts."""
    decided = decided_word(batch.decision) if batch.decision else ""
    # Who released what was in band stands on its record; room is short here.
    if batch.decision not in (None, "release"):
        decided += f", {batch.decided_by}"
    placed = [part for part in batch.parts.values() if part.position is not None and part.kind in strip_days.COFFEE]
    return Row(
        batch, clock(batch.roasted_at), url_for("sheets.record", batch_id=batch.id), say.verdict(batch), decided,
        say.values(batch), tuple(spot(part) for part in placed),
    )  # fmt: skip


def spot(part: StripPart) -> Spot:
    """A mark where the part lies against its target: lighter to the right, whichever way the scale runs."""
    pinned = min(REACH, max(-REACH, part.position))
    far = "" if pinned == part.position else "lighter" if pinned > 0 else "darker"
    brown = shade(part.value, part.scale_lower, part.scale_upper, part.lighter)
    ring = part.verdict if part.verdict in ("undecided", "outside") else "plain"
    return Spot(part.kind, round(WIDE / 2 + pinned * UNIT, 1), brown, ring, far)


def sign_words(stand: Stand) -> tuple[str, str, str, str]:
    """(Look, title, kind, text) of how a product stands."""
    said = trend_words.standing_words(stand)
    return said.look, said.title, kind_word(stand.state.kind).lower(), trend_words.aside(stand)


def cut(text: str) -> str:
    """As much of a text as a line or two can hold."""
    return text if len(text) <= MOST_LETTERS else text[: MOST_LETTERS - 1].rstrip() + "…"


def short_day(day: str) -> str:
    """`14 May`."""
    return format_date(date.fromisoformat(day), "d MMM")


def check_words(check: DayCheck) -> tuple[str, str, str]:
    """(Time, what was checked by whom, what it found)."""
    said = _("passed") if check.passed else _("failed, adjusted") if check.proven else _("failed")
    found = _("%(found)s as found", found=show_signed(check.found, 0.01, decimal_mark()))
    if check.left_off is not None:
        found += ", " + _("%(left)s as left", left=show_signed(check.left_off, 0.01, decimal_mark()))
    allowed = scale_exact(round(check.tolerance * 100), check.step)
    text = _("%(said)s: %(numbers)s, %(allowed)s allowed", said=said, numbers=found, allowed=allowed)
    about = ", ".join((check.meter_name, check.plate_name, check.person_name))
    return clock(check.made_at), about, text + (f" “{cut(check.note)}”" if check.note else "")


def logged_words(one: Logged) -> tuple[str, str, str]:
    """(Time, what changed, by whom and what they said)."""
    text = trend_words.event_words(Event(0, one.at, one.what, one.name))
    return clock(one.at), text, one.person_name + (f" “{cut(one.note)}”" if one.note else "")


def worker_words(one: Worker) -> tuple[str, str]:
    """(Name, what they did)."""
    done = (
        (one.started, _("started: %(num)d", num=one.started)), (one.read, _("samples read: %(num)d", num=one.read)),
        (one.decided, _("decided or signed: %(num)d", num=one.decided)),
        (one.checked, _("meters checked: %(num)d", num=one.checked)),
    )  # fmt: skip
    name = f"{one.name} ({_('trainee')})" if one.role == "trainee" else one.name
    return name, ", ".join(text for many, text in done if many)
