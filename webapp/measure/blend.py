"""Blend-off: the largest mix of held batches that would read in band.

Asked for by its own name (``webapp.measure.blend``), not through the package. Masses in one unit (kg), values and
limits in scale units. Taken as true and shown by no source: that readings mix in proportion to mass. What is worked out
here is therefore a trial to be mixed, read, and compared with its prediction, never a result.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

from . import _programme as programme
from ._checks import TINY, finite, not_negative, positive
from .conformity import Band, Rule, conformance_probability

Kind = str
SEARCH, MOST_TANGENTS = 16, 30


@dataclass(frozen=True)
class Reading:
    """What one batch read of one kind. u: its standard uncertainty; common: the part of u that all batches read on the
    same ``meter`` share, which mixing does not make smaller."""

    value: float
    u: float
    common: float = 0.0
    meter: str = ""

    def __post_init__(self) -> None:
        finite("value", self.value)
        if not_negative("common", self.common) > not_negative("u", self.u) * (1 + TINY):
            raise ValueError("the part that is shared cannot be more than the whole uncertainty")


@dataclass(frozen=True)
class Held:
    """A batch that may be mixed: its mass, and what it read of each kind."""

    mass: float
    readings: dict[Kind, Reading]

    def __post_init__(self) -> None:
        positive("mass", self.mass)


@dataclass(frozen=True)
class Predicted:
    """What a mix would read of one kind: value, u and U = 2u in scale units, the chance that it lies in the band."""

    value: float
    u: float
    U: float
    chance: float


@dataclass(frozen=True)
class Mix:
    """masses: of each batch, in the order given, whole steps; left: what stays of each; predicted: by kind. chance: the
    least of all kinds. Shares are masses over their sum."""

    masses: tuple[float, ...]
    left: tuple[float, ...]
    total: float
    shares: tuple[float, ...]
    predicted: dict[Kind, Predicted]
    chance: float


@dataclass(frozen=True)
class Nearest:
    """A mix that is none: only the shares in which the batches would come nearest, and what it would read."""

    shares: tuple[float, ...]
    predicted: dict[Kind, Predicted]
    chance: float


@dataclass(frozen=True)
class Infeasible:
    """No mix is in band at the wanted confidence.

    why      'all_above' or 'all_below': every batch lies on that side of the band of ``kind`` (as numbers);
             'apart': each kind alone could be mixed into its band, but not all at once;
             'unsure': mixes lie in the band, but none surely enough (or too little of it to be weighed)
    nearest  the mix that lies least far outside, or most surely inside
    """

    why: Literal["all_above", "all_below", "apart", "unsure"]
    kind: Kind | None
    nearest: Nearest


def predict(held: Sequence[Held], masses: Sequence[float], bands: dict[Kind, Band]) -> dict[Kind, Predicted]:
    """What a mix of these masses would read, for every kind that has a band.

    With w the shares: y = sum w y_i and u^2 = sum w^2 (u_i^2 - c_i^2) + the sum over the meters of (sum w c_i)^2 (JCGM
    100:2008, 5.1.2 and 5.2.2: c is fully correlated among what one meter read, and not between two). Raises ValueError
    for no mass.
    """
    total = math.fsum(masses)
    if total <= 0:
        raise ValueError("a mix needs a mass")
    made = {}
    for kind, band in bands.items():
        read = [(mass / total, one.readings[kind]) for mass, one in zip(masses, held, strict=True)]
        value = math.fsum(w * r.value for w, r in read)
        own = math.fsum(w * w * (r.u**2 - r.common**2) for w, r in read)
        u = math.sqrt(max(0.0, own) + math.fsum(c * c for c in shared(read).values()))
        made[kind] = Predicted(value, u, 2 * u, conformance_probability(value, u, band))
    return made


def shared(read: Sequence[tuple[float, Reading]]) -> dict[str, float]:
    """meter -> how far the value of a mix moves with one u of that meter, from (share, reading) of each part."""
    found: dict[str, float] = {}
    for share, reading in read:
        found[reading.meter] = found.get(reading.meter, 0.0) + share * reading.common
    return found


def mix_of(held: Sequence[Held], masses: Sequence[float], bands: dict[Kind, Band]) -> Mix:
    """A mix of these masses with its prediction. Raises ValueError as ``predict`` does."""
    predicted, total = predict(held, masses, bands), math.fsum(masses)
    return Mix(
        tuple(masses), tuple(one.mass - mass for one, mass in zip(held, masses, strict=True)), total,
        tuple(mass / total for mass in masses), predicted, min(p.chance for p in predicted.values()),
    )  # fmt: skip


def largest(held: Sequence[Held], bands: dict[Kind, Band], rule: Rule, step: float) -> Mix | Infeasible:
    """The largest mass that can be mixed from the batches and lies in every band by the product's rule.

    With a guard of z uncertainties between the mix and each limit this is to maximise sum x, 0 <= x_i <= mass_i, where
    sum x_i (y_i - lower) >= z n(x) and sum x_i (upper - y_i) >= z n(x), n(x) being the u of the mix times its mass: a
    norm, so that it never lies below its tangents, and a linear programme with ever more of them finds the largest mix
    (J. E. Kelley, The cutting-plane method for solving convex programs, 1960). The least z is taken with which the mix,
    every mass cut down to whole ``step``s, reaches the confidence; then steps are added while it still does. 'simple'
    rules need no guard. Raises ValueError for fewer than two batches, no band, or a batch that lacks a reading of a
    kind with a band.
    """
    if len(held) < 2 or not bands:
        raise ValueError("a mix needs two batches and a band")
    if any(kind not in one.readings for one in held for kind in bands):
        raise ValueError("every batch needs a reading of every kind that has a band")
    best: Mix | None = None
    last_failed = most = least = 0.0
    for z in _guards(rule):
        best = _at(held, bands, rule, step, z)
        if best is not None:
            least, most = last_failed, z
            break
        last_failed = z
    if best is None:
        return _why_not(held, bands, rule)
    for _turn in range(SEARCH if least else 0):
        middle = (least + most) / 2
        found = _at(held, bands, rule, step, middle)
        if found is None:
            least = middle
        else:
            best, most = (found if found.total >= best.total else best), middle
    return _grown(held, best, bands, rule, step)


def _guards(rule: Rule) -> list[float]:
    """Guards to try, in uncertainties, from the one without which no mix has the confidence to what is enough for two
    limits."""
    if rule.kind == "simple":
        return [0.0]
    needed, enough = (NormalDist().inv_cdf(p) for p in (rule.confidence, (1 + rule.confidence) / 2))
    return [needed + (enough - needed) * no / 8 for no in range(9)]


def _at(held: Sequence[Held], bands: dict[Kind, Band], rule: Rule, step: float, z: float) -> Mix | None:
    """The largest mix with this guard, cut to whole steps; None if there is none that reaches the confidence."""
    full = [one.mass for one in held]
    tangents = {kind: [_tangent(held, kind, full)] for kind in bands}
    masses = _programme(_rows(held, bands, z, tangents), held)
    for _turn in range(MOST_TANGENTS if z else 0):
        if masses is None:
            return None
        far = [kind for kind in bands if _too_near(held, bands[kind], kind, z, masses)]
        if not far:
            break
        for kind in far:
            tangents[kind].append(_tangent(held, kind, masses))
        masses = _programme(_rows(held, bands, z, tangents), held)
    mix = _cut(held, masses, bands, step)
    if mix is None or _fine(mix, bands, rule):
        return mix
    # A mix that leans on a limit may be carried over it by cutting: no further than this share of what is between its
    # batches. Once more with the limits drawn in by as much.
    share = len(held) * step / math.fsum(masses)
    again = _cut(held, _programme(_rows(held, bands, z, tangents, share), held), bands, step)
    return again if again and _fine(again, bands, rule) else None


def _tangent(held: Sequence[Held], kind: Kind, masses: Sequence[float]) -> list[float]:
    """The slopes of n(x), the u of a mix times its mass, at these masses."""
    read = [(mass, one.readings[kind]) for mass, one in zip(masses, held, strict=True)]
    by_meter = shared(read)
    slopes = [mass * (r.u**2 - r.common**2) + r.common * by_meter[r.meter] for mass, r in read]
    norm = math.sqrt(math.fsum(mass * slope for mass, slope in zip(masses, slopes, strict=True)))
    return [slope / norm if norm else 0.0 for slope in slopes]


def _too_near(held: Sequence[Held], band: Band, kind: Kind, z: float, masses: Sequence[float]) -> bool:
    """Whether a mix lies nearer to a limit than z of its uncertainties, by more than can be seen."""
    made = predict(held, masses, {kind: band})[kind]
    room = [end for end in (band.lower, band.upper) if end is not None]
    nearest = min((made.value - end) if end == band.lower else (end - made.value) for end in room)
    return nearest < z * made.u * (1 - 1e-6)


def _grown(held: Sequence[Held], mix: Mix, bands: dict[Kind, Band], rule: Rule, step: float) -> Mix:
    """The mix with whole steps added, one after the other, as long as it stays fine: what cutting took too much of."""
    for _turn in range(3 * len(held)):
        more = []
        for no, left in enumerate(mix.left):
            if left >= step * (1 - 1e-6):
                masses = [mass + step if at == no else mass for at, mass in enumerate(mix.masses)]
                more.append(mix_of(held, masses, bands))
        more = [one for one in more if _fine(one, bands, rule)]
        if not more:
            return mix
        mix = max(more, key=lambda one: one.chance)
    return mix


def _cut(held: Sequence[Held], masses: list[float] | None, bands: dict[Kind, Band], step: float) -> Mix | None:
    # A mass that is a whole number of steps but for the last bits is that number.
    cut = [step * math.floor(mass / step + 1e-6) for mass in masses or ()]
    return mix_of(held, cut, bands) if math.fsum(cut) > 0 else None


def _fine(mix: Mix, bands: dict[Kind, Band], rule: Rule) -> bool:
    if rule.kind == "simple":
        return all(_inside(mix.predicted[kind].value, band) for kind, band in bands.items())
    return mix.chance >= rule.confidence


def _inside(value: float, band: Band) -> bool:
    size = 1e-9 * max(1.0, abs(value))
    return (band.lower is None or value >= band.lower - size) and (band.upper is None or value <= band.upper + size)


def _rows(
    held: Sequence[Held], bands: dict[Kind, Band], z: float, tangents: dict[Kind, list[list[float]]], share: float = 0.0
) -> list[list[float]]:
    """One row of coefficients a limit and tangent: sum of row times masses must be at least zero. share: how far each
    limit is drawn in, of what lies between the batches."""
    rows = []
    for kind, band in bands.items():
        values = [one.readings[kind].value for one in held]
        room = share * (max(values) - min(values))
        for slopes in tangents[kind]:
            guards = [z * slope + room for slope in slopes]
            if band.lower is not None:
                rows.append([value - guard - band.lower for value, guard in zip(values, guards, strict=True)])
            if band.upper is not None:
                rows.append([band.upper - value - guard for value, guard in zip(values, guards, strict=True)])
    return rows


def _programme(rows: list[list[float]], held: Sequence[Held]) -> list[float] | None:
    """The masses with the largest sum; None if there is none but nothing."""
    masses = programme.minimum([-1.0] * len(held), rows, [(0.0, one.mass) for one in held])
    return masses if masses and math.fsum(masses) > 0 else None


def _why_not(held: Sequence[Held], bands: dict[Kind, Band], rule: Rule) -> Infeasible:
    """What stands in the way, and the mix that comes nearest: least far outside its worst limit, in half bands."""
    rows = _rows(held, bands, 0.0, {kind: [[0.0] * len(held)] for kind in bands})
    units = [_unit(band) for band in bands.values() for end in (band.lower, band.upper) if end is not None]
    # Shares, and t: how far outside in half bands. Negative t is the room inside.
    with_t = [[a / unit for a in row] + [1.0] for row, unit in zip(rows, units, strict=True)]
    shares = programme.minimum(
        [0.0] * len(held) + [1.0], with_t, [(0.0, 1.0)] * len(held) + [(None, None)], whole=[1.0] * len(held) + [0.0]
    )  # fmt: skip
    shares = tuple(share / math.fsum(shares[:-1]) for share in shares[:-1])
    predicted = predict(held, shares, bands)
    nearest = Nearest(shares, predicted, min(p.chance for p in predicted.values()))
    for kind, band in bands.items():
        values = [one.readings[kind].value for one in held]
        if band.upper is not None and min(values) > band.upper:
            return Infeasible("all_above", kind, nearest)
        if band.lower is not None and max(values) < band.lower:
            return Infeasible("all_below", kind, nearest)
    reached = all(_inside(nearest.predicted[kind].value, band) for kind, band in bands.items())
    return Infeasible("unsure" if reached else "apart", None, nearest)


def _unit(band: Band) -> float:
    """Half the band's width; of a band with one limit, the way from its centre, or one scale unit."""
    if band.lower is not None and band.upper is not None:
        return (band.upper - band.lower) / 2
    limit = band.lower if band.upper is None else band.upper
    return abs(limit - band.centre) if band.centre is not None else 1.0
