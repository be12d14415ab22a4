"""Where a result stands against its band, and what may be said about it (JCGM 106:2012).

``lighter`` tells which way the scale runs: +1 where a higher number is lighter, -1 where it is darker.
"""

import math
from dataclasses import dataclass
from typing import Literal

from ._checks import finite, not_negative, one_of, whole
from .result import uncertainty_terms
from .spread import Sigmas

Side = Literal["lighter", "darker"]

MOST_FILLS = 4

SAME_VALUE = 1e-12
"""Share of the numbers' size within which a value on a limit counts as on it. It allows for the last bits of
a mean of decimal readings, nothing more."""

SAME_CHANCE = 1e-12
"""A chance this little below the asked confidence reaches it, so that two computers cannot disagree."""


@dataclass(frozen=True)
class Band:
    """What a product should read: the limits and the centre between them, in scale units.

    At least one limit. With two limits and no centre the centre is midway. A one-sided band may have a centre
    or none. Raises ValueError for no limit, a non-finite number, lower not below upper, or a centre that is
    not strictly inside (a centre on its limit would leave no room to express a position).
    """

    lower: float | None = None
    centre: float | None = None
    upper: float | None = None

    def __post_init__(self) -> None:
        for name in ("lower", "centre", "upper"):
            if getattr(self, name) is not None:
                finite(name, getattr(self, name))
        if self.lower is None and self.upper is None:
            raise ValueError("a band needs at least one limit")
        if self.lower is not None and self.upper is not None:
            if not self.lower < self.upper:
                raise ValueError("the lower limit must be below the upper one")
            if self.centre is None:
                object.__setattr__(self, "centre", (self.lower + self.upper) / 2)
        if self.centre is not None:
            above = self.lower is None or self.lower < self.centre
            below = self.upper is None or self.centre < self.upper
            if not (above and below):
                raise ValueError("the centre must lie between the limits")


@dataclass(frozen=True)
class Rule:
    """How a product's results are judged (JCGM 106:2012, clauses 8.2 and 8.3).

    'guarded': in or out of band only with at least the given confidence, else too close to call.
    'simple': in band from limit to limit, no allowance for uncertainty; the confidence plays no part.
    Raises ValueError for another kind, or a confidence that is not above 0.5 and below 1: at 0.5 and less one
    result could be both in and out.
    """

    kind: Literal["guarded", "simple"] = "guarded"
    confidence: float = 0.80

    def __post_init__(self) -> None:
        one_of("kind", self.kind, ("guarded", "simple"))
        if not 0.5 < finite("confidence", self.confidence) < 1:
            raise ValueError(f"confidence must be above 0.5 and below 1, not {self.confidence!r}")


@dataclass(frozen=True)
class Judgement:
    """What may be said about one result.

    verdict   'inside', 'undecided' (too close to call) or 'outside'
    side      outside: the side of the broken limit. Undecided: the side of the nearer limit, None when both
              are equally near. Inside: None
    chance    conformance probability, 0 to 1
    position  as ``position`` gives it; None where the band has no centre
    beyond    distance beyond the nearest limit, scale units: positive outside, negative inside
    """

    verdict: Literal["inside", "undecided", "outside"]
    side: Side | None
    chance: float
    position: float | None
    beyond: float


def normal_cdf(z: float) -> float:
    """Probability that a standard normal variable is at most z; accurate in both tails."""
    return 0.5 * math.erfc(-z / math.sqrt(2))


def _direction(lighter: int) -> int:
    if lighter not in (1, -1):
        raise ValueError(f"lighter must be +1 or -1, not {lighter!r}")
    return lighter


def position(value: float, band: Band, lighter: int) -> float | None:
    """Deviation from the centre in half-band widths: 0 at the centre, +1 at the light limit of every scale.

    (value - centre) / (distance from the centre to the limit on that side). Where that side has no limit,
    the distance to the one there is serves as the unit. None where a one-sided band has no centre: there is
    nothing to deviate from. No unit. Our own convention, no source. Raises ValueError for a non-finite value
    or another ``lighter``.
    """
    finite("value", value)
    _direction(lighter)
    if band.centre is None:
        return None
    deviation = value - band.centre
    if deviation == 0:
        return 0.0
    limit = band.upper if deviation > 0 else band.lower
    if limit is None:
        limit = band.lower if deviation > 0 else band.upper
    return lighter * deviation / abs(limit - band.centre)


def _beyond(value: float, band: Band) -> float:
    """Distance beyond the nearest limit; exactly 0.0 on it, where only the last bits differ."""
    distances = []
    if band.lower is not None:
        distances.append((band.lower - value, band.lower))
    if band.upper is not None:
        distances.append((value - band.upper, band.upper))
    distance, limit = max(distances)
    return 0.0 if abs(distance) <= SAME_VALUE * max(abs(value), abs(limit)) else distance


def conformance_probability(value: float, u: float, band: Band) -> float:
    """Probability, 0 to 1, that what was measured lies in the band, given the value and its u (scale units).

    Phi((upper - value)/u) - Phi((lower - value)/u), one term only for a one-sided band (JCGM 106:2012, 7.2 to
    7.4: normal distribution, no prior knowledge), taken from the smaller tail so that it keeps its digits.
    With u = 0: 1 from limit to limit, else 0. Raises ValueError for a negative or non-finite number.
    """
    finite("value", value)
    not_negative("u", u)
    if u == 0:
        return 1.0 if _beyond(value, band) <= 0 else 0.0
    to_lower = -math.inf if band.lower is None else (band.lower - value) / u
    to_upper = math.inf if band.upper is None else (band.upper - value) / u
    if to_lower > 0:
        to_lower, to_upper = -to_upper, -to_lower
    return max(0.0, normal_cdf(to_upper) - normal_cdf(to_lower))


def _nearer_side(value: float, band: Band, lighter: int) -> Side | None:
    """The side of the nearer limit; None where both are equally near (up to the last bits)."""
    sides: tuple[Side, Side] = ("darker", "lighter") if lighter > 0 else ("lighter", "darker")
    if band.lower is None:
        return sides[1]
    if band.upper is None:
        return sides[0]
    balance = (value - band.lower) - (band.upper - value)
    if abs(balance) <= SAME_VALUE * max(abs(value), abs(band.lower), abs(band.upper)):
        return None
    return sides[1] if balance > 0 else sides[0]


def judge(value: float, u: float, band: Band, rule: Rule, lighter: int) -> Judgement:
    """What may be said about a result, from unrounded numbers in scale units. Source: JCGM 106:2012.

    Guarded with confidence c: inside if the conformance probability is at least c; outside if its complement
    is, and the value itself lies beyond a limit; else undecided. The second condition matters where u is
    large against the band: then even a value at the centre has a small probability of conforming, which says
    that the measurement is too coarse for the band and not that the coffee is off. Simple: inside from limit
    to limit, else outside. A value on a limit, up to the last bits, lies within. Raises ValueError as
    ``position`` and ``conformance_probability`` do.
    """
    where = position(value, band, lighter)
    chance = conformance_probability(value, u, band)
    beyond = _beyond(value, band)
    if rule.kind == "simple":
        verdict = "outside" if beyond > 0 else "inside"
    elif chance >= rule.confidence - SAME_CHANCE:
        verdict = "inside"
    elif beyond > 0 and 1 - chance >= rule.confidence - SAME_CHANCE:
        verdict = "outside"
    else:
        verdict = "undecided"
    side = None if verdict == "inside" else _nearer_side(value, band, lighter)
    return Judgement(verdict, side, chance, where, beyond)


def fills_to_settle(
    value: float,
    fills: int,
    readings_per_fill: int,
    sigmas: Sigmas,
    step: float,
    u_meter: float,
    band: Band,
    rule: Rule,
    lighter: int,
    most: int = MOST_FILLS,
) -> int | None:
    """How many fills in all would settle a result that is too close to call, if its value stayed.

    The fewest above the present ``fills``, up to ``most``, each with ``readings_per_fill`` readings, with
    which ``judge`` would say inside or outside; None if none would (further fills shrink neither the meter's
    term nor the step's). To be asked of an undecided result only. Raises ValueError as ``judge`` and
    ``uncertainty_terms`` do.
    """
    whole("fills", fills, 1)
    whole("readings_per_fill", readings_per_fill, 1)
    for total in range(fills + 1, most + 1):
        terms = uncertainty_terms(total, total * readings_per_fill, sigmas, step, u_meter)
        if judge(value, math.sqrt(math.fsum(terms)), band, rule, lighter).verdict != "undecided":
            return total
    return None
