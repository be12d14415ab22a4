"""The rules of a sign-off: how it is planned, what it comes to, and until when it holds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp import measure
from webapp.measure import sign_off as measured
from webapp.store import compared, comparisons, own_work, products, signoffs, times
from webapp.store.comparisons import Comparison, NewComparison, NewSide
from webapp.store.signoffs import Evidence, SignOff
from webapp.studies import service, sign_off_drawing
from webapp.studies.outcome import Pair
from webapp.studies.sign_off_forms import LEAST_CUPS, USUAL_CUPS, SignOffPlanForm
from webapp.ui.numbers import decimal_mark
from webapp.ui.verdict_words import kind_word


def usual_coffees(db: Database) -> str:
    """What is proposed: the products in use, one a line, and numbers up to ten."""
    names = [product.name for product in products.list_products(db)][:USUAL_CUPS]
    more = [_("Coffee %(no)d", no=no) for no in range(len(names) + 1, USUAL_CUPS + 1)]
    return "\n".join([*names, *more])


def plan(form: SignOffPlanForm, db: Database) -> NewComparison | None:
    """The plan from a form that is valid so far; None after adding what is missing beside its field."""
    version, meter = form.methods[form.method.data], form.meters[form.meter.data]
    service.settle_bound(form.bound, db, meter.scale, version.kind)
    trainee = form.people[form.trainee.data]
    if under_way(db, trainee.id, version.kind):
        form.trainee.errors = [
            _("A sign-off of %(name)s for this is under way already. Conclude that one first.", name=trainee.name)
        ]
    if form.errors:
        return None
    a, b = (
        NewSide(meter.id, version.id, version.grinder_setting_id, person_id)
        for person_id in (form.reference.data, trainee.id)
    )
    name = f"{trainee.name}, {kind_word(version.kind).lower()}"
    return NewComparison(
        form.id.data, name, "people", version.kind, meter.scale.id, a, b, form.fills.data, form.readings.data,
        form.bound.data, True, service.in_random_order(form.names()),
    )  # fmt: skip


def under_way(db: Database, person_id: str, kind: str) -> Comparison | None:
    """The sign-off that somebody is reading for, or None."""
    found = (c for c in comparisons.list_open(db) if c.what == "people" and c.kind == kind)
    return next((there for there in found if there.b.person_id == person_id), None)


def end_of(now: datetime, months: int, zone: str) -> str | None:
    """The last moment of the day so many months from now at the site (stored UTC text); None for 0, no end."""
    if not months:
        return None
    today = date.fromisoformat(times.local_day(now, zone))
    count = today.month - 1 + months
    year, month = today.year + count // 12, count % 12 + 1
    last = (date(year + month // 12, month % 12 + 1, 1) - timedelta(days=1)).day
    _start, after = times.day_bounds(date(year, month, min(today.day, last)).isoformat(), zone)
    return times.to_text(after - timedelta(milliseconds=1))


@dataclass(frozen=True)
class Findings:
    """Everything for the page. `evidence` is None while it cannot be looked at: `missing` coffees are not read yet, or
    `hidden` from whoever asks."""

    comparison: Comparison
    pairs: list[Pair]
    missing: int
    hidden: bool
    evidence: Evidence | None
    conclusion: SignOff | None
    drawing: sign_off_drawing.Drawing | None
    seen: int

    @property
    def fine(self) -> Decimal:
        """Statistics are shown to a tenth of the scale's step."""
        return Decimal(self.comparison.scale.step) / 1000

    def number(self, value: float) -> str:
        """A value in scale units."""
        return measure.show_value(value, self.fine, decimal_mark())

    def signed(self, value: float) -> str:
        """A difference in scale units."""
        return measure.show_signed(value, self.fine, decimal_mark())

    @property
    def can_stop(self) -> bool:
        """Whether a lead may conclude it with the coffees that are there."""
        return len(self.pairs) >= LEAST_CUPS

    @property
    def equivalent(self) -> bool:
        """Whether the 90 % interval of the mean difference lies inside the bound."""
        found = self.evidence
        return -found.bound < found.bias_low and found.bias_high < found.bound

    @property
    def steady(self) -> bool:
        """Whether the trainee's fills vary no more than the shop's."""
        found = self.evidence
        return found.spread is not None and found.spread <= found.spread_limit

    @property
    def passed(self) -> bool:
        """Whether the trainee may be signed off."""
        return self.equivalent and self.steady

    @property
    def faults(self) -> list[str]:
        """What is not there yet, in words; nothing for who passed."""
        found, said = self.evidence, []
        if not self.equivalent and (found.bias_low > 0 or found.bias_high < 0):
            by = self.number(abs(found.bias))
            lighter = (found.bias > 0) == (self.comparison.scale.lighter > 0)
            said.append(_("reads lighter by %(by)s", by=by) if lighter else _("reads darker by %(by)s", by=by))
        elif not self.equivalent:
            said.append(_("the differences vary too much to tell"))
        if not self.steady:
            said.append(_("the fills differ more than the shop’s"))
        return said


def gather(db: Database, there: Comparison, person_id: str, *, stop: bool = False) -> Findings:
    """Look at what was read, as far as whoever asks may see it: everybody once it is concluded; before, a lead when all
    coffees are read, or with fewer (`stop`) one who reads none of them."""
    values = compared.values(db, there)
    complete = compared.complete(there, values)
    pairs = [
        Pair(coffee, values[coffee.no, "a"].value, values[coffee.no, "b"].value)
        for coffee in there.coffees if coffee.no in complete
    ]  # fmt: skip
    conclusion, seen = signoffs.find_conclusion(db, there.id), len(comparisons.list_samples(db, there.id))
    missing = len(there.coffees) - len(pairs)
    takes_part = person_id in (there.a.person_id, there.b.person_id)
    may = conclusion is not None or not missing or (stop and not takes_part)
    if not may or (conclusion is None and len(pairs) < LEAST_CUPS):
        return Findings(there, pairs, missing, takes_part, None, conclusion, None, seen)
    evidence = conclusion.evidence if conclusion else evidence_of(db, there, pairs)
    drawn = sign_off_drawing.draw(pairs, evidence, there.scale.step / 100, there.scale.lighter)
    return Findings(there, pairs, missing, takes_part, evidence, conclusion, drawn, seen)


def evidence_of(db: Database, there: Comparison, pairs: list[Pair]) -> Evidence:
    """What the pairs say now, by what is known of the method's spread in everybody else's hands (measure.sign_off)."""
    fills = compared.fill_values(db, there)
    within = [measure.between_fills(fills[pair.coffee.no, "b"]) for pair in pairs]
    scale, trainee = there.scale, there.b
    span = (scale.upper - scale.lower) / 100
    sigmas = own_work.shop_sigmas(db, trainee.person_id, trainee.method.id, scale.id, there.kind, span)
    found = measured.sign_off(
        [pair.a for pair in pairs], [pair.b for pair in pairs], there.bound / 100, sum(ss for ss, _df in within),
        sum(df for _ss, df in within), sigmas.sigma_f, sigmas.sigma_r, there.readings,
    )  # fmt: skip
    return Evidence(
        found.coffees, found.bias, found.low, found.high, found.bound, found.spread, found.spread_limit,
        found.spread_df,
    )  # fmt: skip
