"""A person's own samples: how many, how well their readings agree, how alike their fills are, and sign-offs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from flask import g, render_template
from flask_babel import format_date
from sqlite_utils import Database

from webapp import measure
from webapp.db import get_db
from webapp.measure import routine
from webapp.people.blueprint import people
from webapp.people.words import ROLE_WORDS
from webapp.store import comparisons, gear, methods, own_work, signoffs, times
from webapp.store.people import get_person
from webapp.store.signoffs import KINDS
from webapp.ui.access import open_to
from webapp.ui.numbers import decimal_mark

MONTHS = 12
# The picture of the months, and the track of a spread, in units of their drawings.
HEIGHT, GAP, TRACK = 90, 44, 440


@dataclass(frozen=True)
class Fills:
    """How alike the fills are: the method's name, the standard deviation, its limit, both as shown and as drawn."""

    method: str
    word: str
    sd: str
    limit: str
    sd_at: float
    limit_at: float


@dataclass(frozen=True)
class OfKind:
    """All that is known of one kind. bars: (x, height, samples, month) of the months."""

    kind: str
    samples: int
    agreed: int
    agreement: str
    bars: list[tuple[int, int, int, str]]
    fills: Fills | None


@people.get("/me/progress")
@open_to("trainee")
def progress():
    """What whoever is here has prepared so far, and how it compares with the shop's."""
    db, person_id = get_db(), g.session.person_id
    under_way = [one for one in comparisons.list_open(db) if one.what == "people" and one.b.person_id == person_id]
    return render_template(
        "people/progress.html",
        person=get_person(db, person_id),
        role=ROLE_WORDS[g.session.role],
        kinds=[found for kind in KINDS if (found := of_kind(db, person_id, kind))],
        states={kind: signoffs.state_of(db, person_id, kind, g.now) for kind in KINDS},
        under_way={one.kind: one for one in under_way},
        history=signoffs.list_signoffs(db, person_id),
    )


def last_months() -> list[str]:
    """The twelve months up to this one at the site, oldest first."""
    today = date.fromisoformat(times.local_day(g.now, g.site.time_zone))
    last = today.year * 12 + today.month - 1
    return [f"{n // 12}-{n % 12 + 1:02d}" for n in range(last - MONTHS + 1, last + 1)]


def of_kind(db: Database, person_id: str, kind: str) -> OfKind | None:
    """See OfKind; None without a sample."""
    names = last_months()
    found = {m.month: m for m in own_work.months_of(db, person_id, names[0]) if m.kind == kind}
    if not found:
        return None
    samples, wrong = (sum(getattr(m, name) for m in found.values()) for name in ("samples", "disagreeing"))
    most = max(m.samples for m in found.values())
    counts = [(no, found[name].samples if name in found else 0, name) for no, name in enumerate(names)]
    bars = [(no * GAP, round(HEIGHT * n / most), n, format_date(date.fromisoformat(f"{name}-01"), "LLL"))
            for no, n, name in counts]  # fmt: skip
    judged = routine.judge_rate(wrong, samples, sum(m.fills for m in found.values()))
    return OfKind(kind, samples, samples - wrong, judged.word, bars, fills_of(db, person_id, kind, names[0]))


def fills_of(db: Database, person_id: str, kind: str, since: str) -> Fills | None:
    """The fills with the method version that is known best; None while no sample has had two."""
    known = (s for s in own_work.spreads_of(db, person_id, since) if s.kind == kind and s.df_f)
    best = next(known, None)
    if best is None:
        return None
    version, scale = methods.get_version(db, best.method_version_id), gear.get_scale(db, best.scale_id)
    span = (scale.upper - scale.lower) / 100
    sigmas = own_work.shop_sigmas(db, person_id, version.id, scale.id, kind, span)
    sigma = routine.fill_value_sigma(sigmas.sigma_r, sigmas.sigma_f, best.readings_each)
    judged = routine.judge(best.ss_f, best.df_f, sigma)
    fine = Decimal(scale.step) / 1000
    shown = (measure.show_value(value, fine, decimal_mark()) for value in (judged.sd, judged.limit))
    most = 1.15 * max(judged.sd, judged.limit)
    places = (round(TRACK * value / most, 1) for value in (judged.sd, judged.limit))
    return Fills(version.name, judged.word, *shown, *places)
