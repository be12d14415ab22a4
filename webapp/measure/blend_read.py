"""A blend that was read: against what was expected of it, and what all of them together say of mixing.

Asked for by its own name, as measure.blend is. Scale units.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ._checks import TINY, finite_list, positive
from ._pairs import CONFIDENCE, Interval, around, t_quantile
from .blend import Reading
from .blend import shared as together
from .spread import mean


@dataclass(frozen=True)
class Against:
    """A mix that was read, against what was expected of it. difference: read minus expected; u: of the difference; U =
    2u; score: difference / U, the normalized error; agrees: it lies within the give or take of both."""

    difference: float
    u: float
    U: float
    score: float
    agrees: bool


def against(parts: Sequence[tuple[float, Reading]], read: Reading) -> Against:
    """What a mix read of one kind against what its parts let expect; parts: (share, what was read of it).

    With x the reading and X = sum w y_i: E = (x - X) / U, U = 2u, and |E| <= 1 agrees (the E_n score of ISO 13528). u^2
    is the sum of what each has to itself and, for each meter, of the square of what is left of its share: a meter that
    read the parts and the mix is in both, and cancels (JCGM 100:2008, 5.2.2). Raises ValueError for no part or shares
    that do not sum to 1.
    """
    if abs(math.fsum(share for share, _reading in parts) - 1) > 1e-6:
        raise ValueError("shares sum to 1")
    difference = read.value - math.fsum(share * reading.value for share, reading in parts)
    own = math.fsum(share**2 * (reading.u**2 - reading.common**2) for share, reading in parts)
    own += read.u**2 - read.common**2
    both = together([*((-share, reading) for share, reading in parts), (1.0, read)])
    u = math.sqrt(max(0.0, own) + math.fsum(c * c for c in both.values()))
    score = difference / (2 * u) if u > 0 else math.copysign(math.inf, difference) if difference else 0.0
    return Against(difference, u, 2 * u, score, abs(score) <= 1 + TINY)


LEAST_BLENDS = 3


@dataclass(frozen=True)
class Learnt:
    """What blends have shown. mean: of read minus expected; interval: its 95 % interval; linear: it holds zero, so that
    nothing says that mixing is not linear."""

    blends: int
    mean: float
    interval: Interval
    linear: bool

    @property
    def give_or_take(self) -> float:
        """Half of the interval."""
        return (self.interval[1] - self.interval[0]) / 2


def learnt(differences: Sequence[float], step: float) -> Learnt | None:
    """The mean of read minus expected, with its 95 % interval by Student's t; None from fewer than three blends.

    mean +/- t(0.975; n - 1) s / sqrt(n) (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2). s is never taken
    for less than step / sqrt(12): three blends that agree to the last digit do not prove that there is no scatter.
    Raises ValueError for a non-finite number or a step that is not above zero.
    """
    values = finite_list("differences", differences) if differences else []
    floor = positive("step", step) / math.sqrt(12)
    n = len(values)
    if n < LEAST_BLENDS:
        return None
    middle = mean(values)
    s = max(floor, math.sqrt(math.fsum((value - middle) ** 2 for value in values) / (n - 1)))
    interval = around(middle, t_quantile((1 + CONFIDENCE) / 2, n - 1) * s / math.sqrt(n))
    return Learnt(n, middle, interval, interval[0] <= 0 <= interval[1])
