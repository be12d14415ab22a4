"""What the pages of look-backs show, gathered from the store."""

from __future__ import annotations

from dataclasses import dataclass, replace

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp import measure
from webapp.gear.off_plate import off_plate
from webapp.store import checks, gear, look_backs, products, results
from webapp.store.checks import Check
from webapp.store.errors import NotFound
from webapp.store.gear import Scale
from webapp.store.look_backs import Doubt, Entry
from webapp.store.results import PartResult
from webapp.ui import verdict_words
from webapp.ui.filters import shade


@dataclass(frozen=True)
class LookBackLine:
    """A look-back in the list: its failed check, its meter, how many of its samples are open, and who closed it."""

    check: Check
    meter: gear.Meter
    off: str
    open: int
    all: int
    closed: Entry | None

    @property
    def left(self) -> str:
        """How the meter was left by the check."""
        left = self.check.left_off
        return _("not adjusted") if left is None else off_plate(left, self.meter.scale)


@dataclass(frozen=True)
class DoubtView:
    """A sample of a look-back as the page shows it; texts are empty where there is nothing to say."""

    doubt: Doubt
    shade: str
    value: str
    give: str
    word: str
    without: str
    near: str

    @property
    def tight(self) -> bool:
        """Whether it lies within give or take of a limit."""
        return self.doubt.nearness is not None and abs(self.doubt.nearness) <= 1

    @property
    def out(self) -> bool:
        """Whether the coffee has left: released, with or without a concession."""
        return self.doubt.decision in ("release", "concession")

    @property
    def settled(self) -> bool:
        """Whether somebody has said what becomes of it."""
        return self.doubt.entry is not None

    @property
    def final(self) -> bool:
        """Settled, and nothing more can be said: held samples may still be accepted or read again."""
        return self.settled and self.doubt.entry.what != "held"


def failed(db: Database, check_id: str) -> Check:
    """The failed check that a look-back belongs to. NotFound: there is no such check, or it has passed."""
    check = checks.get_check(db, check_id)
    if check.passed:
        raise NotFound(check_id)
    return check


def line(db: Database, check: Check) -> LookBackLine:
    """One look-back in short."""
    meter = gear.get_meter(db, check.meter_id)
    return LookBackLine(
        check, meter, off_plate(check.found, meter.scale), look_backs.open_count(db, check),
        look_backs.sample_count(db, check), look_backs.closed_by(db, check),
    )  # fmt: skip


def lines(db: Database, meter_id: str | None = None) -> list[LookBackLine]:
    """Every look-back, newest first, those that are open before the others."""
    found = [line(db, checks.get_check(db, check_id)) for check_id in look_backs.failed_checks(db, meter_id)]
    return sorted(found, key=lambda it: it.open == 0)


def views(db: Database, check: Check) -> list[DoubtView]:
    """The samples of a look-back in the order in which they are gone through."""
    return [view(db, doubt) for doubt in look_backs.doubts(db, check)]


def find_view(db: Database, check: Check, sample_id: str) -> DoubtView:
    """One sample of a look-back. NotFound if it is not in it."""
    found = next((doubt for doubt in look_backs.doubts(db, check) if doubt.sample_id == sample_id), None)
    if found is None:
        raise NotFound(sample_id)
    return view(db, found)


def view(db: Database, doubt: Doubt) -> DoubtView:
    """One of them, with its words."""
    part = doubt.part
    if part is None:
        return DoubtView(doubt, "", "", "", "", "", "")
    scale = gear.get_scale(db, part.scale_id)
    step = scale.step / 100
    brown = shade(part.value, scale.lower / 100, scale.upper / 100, scale.lighter)
    moved = doubt.moved
    without = replace(part, verdict=moved.verdict, side=moved.side) if moved else None
    return DoubtView(
        doubt, brown, measure.show_value(part.value, step), measure.show_give_or_take(part.U, step),
        verdict_words.part_word(part), verdict_words.part_word(without) if without else "",
        near_limit(db, part, scale) if moved else "",
    )  # fmt: skip


def near_limit(db: Database, part: PartResult, scale: Scale) -> str:
    """How near the nearest limit is: `0.3 inside the light limit, give or take 0.5.`"""
    target = products.get_target(db, part.target_version_id)
    band = results.band_of(target, part.kind, part.scale_id, None)
    room = [(part.value - band.lower, -scale.lighter)] if band.lower is not None else []
    room += [(band.upper - part.value, scale.lighter)] if band.upper is not None else []
    inside, way = min(room)
    side = "lighter" if way > 0 else "darker"
    return verdict_words.beyond_text(replace(part, side=side, beyond=-inside), scale.step / 100)
