"""The page of a band from history: tables, the normal picture, marks, and where it is taken over."""

from __future__ import annotations

from dataclasses import dataclass

from flask import url_for
from flask_babel import gettext as _
from flask_babel import ngettext

from webapp.measure import show_percent, show_signed, show_value
from webapp.measure.normality import normal_scores
from webapp.measure.tolerance import ENOUGH_REFERENCE, LEAST_REFERENCE, two_sided_factor
from webapp.store.products import Product
from webapp.store.trends import Kind
from webapp.trends import words
from webapp.trends.band import MARK, Found, Judged, reason
from webapp.ui.axes import Axis, reach
from webapp.ui.numbers import decimal_mark

LEFT, RIGHT, TOP, BOTTOM = 78, 546, 18, 338


@dataclass(frozen=True)
class Quantiles:
    """Values in order over where normal ones would lie. line: x1, y1, x2, y2 of normal values; rails: y of the present
    limits, edges: of the proposed ones."""

    x: Axis
    y: Axis
    dots: list[tuple[float, float]]
    line: tuple[float, float, float, float]
    rails: list[float]
    edges: list[float]


@dataclass(frozen=True)
class Pair:
    """A batch as the present band has it and as the proposed one would: (verdict, side) each; differs; label."""

    present: tuple[str, str] | None
    proposed: tuple[str, str]
    differs: bool
    label: str


@dataclass(frozen=True)
class Row:
    """A batch to choose. name: of its tick box, which leaves out what counts by default and takes in what does not."""

    mark: str
    name: str
    ticked: bool
    used: bool
    code: str
    url: str
    when: str
    value: str
    meter: str
    proven: bool


@dataclass(frozen=True)
class Page:
    """table: (what, as it is, as proposed); take: address of the targets' form, filled in; cautions: in plain words."""

    said: str
    reason: str
    cautions: tuple[str, ...]
    table: tuple[tuple[str, str, str], ...]
    quantiles: Quantiles | None
    normal: str
    pairs: tuple[Pair, ...]
    differing: int
    rows: tuple[Row, ...]
    take: str


def make(found: Found, product: Product, kind: Kind) -> Page:
    """The page."""
    said, why = answer(found)
    pairs = tuple(paired(found)) if found.proposed else ()
    return Page(
        said, why, tuple(cautions(found)) if found.proposal else (),
        tuple(table(found)) if found.proposed else (), quantiles(found) if found.proposal else None,
        normal_words(found), pairs, sum(one.differs for one in pairs), tuple(rows(found)),
        take_over(found, product, kind) if found.proposal else "",
    )  # fmt: skip


def answer(found: Found) -> tuple[str, str]:
    """(the answer, what it rests on)."""
    chosen = found.choice
    if not found.trend.points:
        return _("No batch is like that."), _("Choose less narrowly, or look at all batches.")
    if found.proposal is None:
        more = ngettext("%(num)d more is needed.", "%(num)d more are needed.", found.missing)
        return _("Too few batches for a band."), " ".join((counted(found), more, _(
            "Fewer than %(least)d say too little about where others will lie.", least=LEAST_REFERENCE)))  # fmt: skip
    lower, centre, upper = (number(found, end) for end in
                            (found.proposal.lower, found.proposal.centre, found.proposal.upper))  # fmt: skip
    said = _("%(lower)s to %(upper)s, target %(centre)s", lower=lower, upper=upper, centre=centre)
    return said, " ".join((counted(found), _(
        "Between limits like these lie %(coverage)d %% of all such batches, in %(confidence)d of 100 cases.",
        coverage=chosen.coverage, confidence=chosen.confidence)))  # fmt: skip


def counted(found: Found) -> str:
    """From how many batches, and what is not among them."""
    many, points = len(found.used), found.trend.points
    said = [ngettext("From %(num)d batch.", "From %(num)d batches.", many)]
    unproven = sum(not one.proven and not found.choice.takes(one) for one in points)
    left = len(points) - many - unproven
    if unproven:
        said.append(ngettext("%(num)d is left out: its meter was not proven.",
                             "%(num)d are left out: their meter was not proven.", unproven))  # fmt: skip
    if left:
        said.append(ngettext("%(num)d was left out by hand.", "%(num)d were left out by hand.", left))
    if found.trend.apart:
        said.append(ngettext("%(num)d was kept apart and is not offered.",
                             "%(num)d were kept apart and are not offered.", found.trend.apart))  # fmt: skip
    return " ".join(said)


def cautions(found: Found):
    """What should be known before it is taken over."""
    if len(found.used) < ENOUGH_REFERENCE:
        yield _(
            "So few batches leave much open, and the band is wide for that alone: %(factor)s standard deviations on"
            " each side of the mean. With a hundred batches it would be %(enough)s.",
            factor=show_value(found.proposal.factor, 0.1, decimal_mark()),
            enough=show_value(factor_of(found, 100), 0.1, decimal_mark()),
        )  # fmt: skip
    if found.unsteady:
        yield ngettext(
            "Something changed among these batches: %(num)d signal. A band from them holds the change too.",
            "Something changed among these batches: %(num)d signals. A band from them holds the changes too.",
            found.unsteady,
        )  # fmt: skip
    if found.normality and found.normality.doubtful:
        yield _("These batches do not look normal, so the share that lies in this band is in doubt.")


def factor_of(found: Found, batches: int) -> float:
    """The factor of so many batches, for what is chosen."""
    return two_sided_factor(batches, found.choice.coverage / 100, found.choice.confidence / 100)


def normal_words(found: Found) -> str:
    """What the test of normality says, carefully."""
    if found.proposal is None:
        return ""
    if found.normality is None:
        return _("These batches do not vary by more than the scale's step: nothing can be said about their spread.")
    chance = show_percent(found.normality.chance, decimal_mark())
    if found.normality.doubtful:
        return _("So bent a row comes from normal batches with a chance of %(chance)s only.", chance=chance)
    return _("Nothing here speaks against it (a chance of %(chance)s); that does not prove it.", chance=chance)


def number(found: Found, value) -> str:
    """A value to the scale's step."""
    return show_value(value, found.step, decimal_mark())


def table(found: Found):
    """Side by side: the present band and the proposed one."""
    sides = (found.present, found.proposed)

    def both(name: str, of) -> tuple[str, str, str]:
        return name, *(of(one) if one else "–" for one in sides)

    yield both(_("Limits"), lambda one: limits(found, one))
    yield both(_("Target"), lambda one: number(found, one.band.centre))
    yield both(_("Width"), lambda one: width(found, one))
    yield both(_("Cp"), lambda one: words.index_words(one.able.cp) or "–")
    yield both(_("Cpk"), lambda one: words.index_words(one.able.cpk))
    names = {
        ("inside", ""): _("In band"), ("undecided", ""): _("Too close to call"),
        ("outside", "darker"): _("Out, darker"), ("outside", "lighter"): _("Out, lighter"),
    }  # fmt: skip
    for key, name in names.items():
        yield both(name, lambda one, key=key: str(one.count(*key)))


def limits(found: Found, one: Judged) -> str:
    """`59.5 to 62.5`, or the one that there is."""
    lower, upper = (None if end is None else number(found, end) for end in (one.band.lower, one.band.upper))
    if lower and upper:
        return _("%(lower)s to %(upper)s", lower=lower, upper=upper)
    return _("from %(limit)s", limit=lower) if lower else _("up to %(limit)s", limit=upper)


def width(found: Found, one: Judged) -> str:
    """From limit to limit, and by how much the proposed one differs."""
    if one.band.lower is None or one.band.upper is None:
        return "–"
    wide = one.band.upper - one.band.lower
    there = found.present.band if found.present and one is found.proposed else None
    if there is None or there.lower is None or there.upper is None:
        return number(found, wide)
    by = show_signed(wide - (there.upper - there.lower), found.step, decimal_mark())
    return _("%(width)s (%(by)s)", width=number(found, wide), by=by)


def paired(found: Found):
    """Each of the newest batches by both bands, oldest first."""
    there = found.present.meant if found.present else [None] * len(found.proposed.meant)
    for now, then in zip(there, found.proposed.meant, strict=True):
        present = (now.verdict, now.side) if now else None
        proposed = (then.verdict, then.side)
        differs = present is not None and present != proposed
        yield Pair(present, proposed, differs, f"{then.point.code}: {number(found, then.point.value)}")


def quantiles(found: Found) -> Quantiles:
    """The reference batches in order, over where normal ones would lie. Lighter is up."""
    way, values = found.scale.lighter, sorted(point.value * found.scale.lighter for point in found.used)
    scores = normal_scores(len(values))
    rails = [end for end in (found.present.band.lower, found.present.band.upper) if end is not None] if (
        found.present) else []  # fmt: skip
    edges = [float(found.proposal.lower), float(found.proposal.upper)]
    x = Axis(reach(scores, 0.1), LEFT, RIGHT, 1, 0.5)
    y = Axis(reach([value * way for value in values] + rails + edges, found.step), BOTTOM, TOP, way, found.step)
    middle, spread = found.proposal.mean, found.proposal.deviation * way
    ends = [(x.at(at), y.at(middle + spread * at)) for at in (scores[0], scores[-1])]
    return Quantiles(
        x, y, [(x.at(at), y.at(value * way)) for at, value in zip(scores, values, strict=True)], (*ends[0], *ends[1]),
        [y.at(end) for end in rails], [y.at(end) for end in edges],
    )  # fmt: skip


def rows(found: Found):
    """The batches to choose from, newest first."""
    for point in reversed(found.trend.points):
        used = found.choice.takes(point)
        yield Row(
            point.batch_id[:MARK], "without" if point.proven else "within", used != point.proven, used, point.code,
            url_for("bench.result", batch_id=point.batch_id), words.day_of_time(point.roasted_at),
            number(found, point.value), point.meter_name, point.proven,
        )  # fmt: skip


def take_over(found: Found, product: Product, kind: Kind) -> str:
    """The targets' own form with this band filled in; '' where the targets are on another scale."""
    if found.target is None or found.target.scale.id != found.trend.scale_id:
        return ""
    ends = {name: int(getattr(found.proposal, name) * 100) for name in ("lower", "centre", "upper")}
    return url_for("targets.edit_targets", product_id=product.id, kind=kind, **ends, reason=reason(found))
