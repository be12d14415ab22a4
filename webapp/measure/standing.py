"""How a run of batches stands now: limits, what fired, advice, capability. One judging for every place that shows it.

Asked for by its own name (``webapp.measure.standing``), not through the package. Values with their band in order of
time, lighter as above (mirrored where the scale's smaller numbers are lighter).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from . import advice
from ._checks import finite, positive
from .advice import Advice, Run
from .capability import Capability, capability_of
from .charts import LEAST_BASELINE, RANGE_LIMIT_FACTOR, Limits, limits_of
from .control import RANGE_FACTOR
from .rules import RULES

Ends = tuple[float | None, float | None]


@dataclass(frozen=True)
class Standing:
    """limits: those that judge; None with fewer than two values. run: what fired, None without limits. start: index of
    the first value that was judged. capability: None without a band or with too few values.

    Indices of signals, drifts and advice count from the first of all values; run.average begins at ``start``.
    """

    limits: Limits | None
    run: Run | None
    advice: Advice
    capability: Capability | None
    start: int = 0


def frozen_limits(batches: int, centre: float, sigma: float) -> Limits:
    """Limits again from what a baseline keeps of them: its number of values, centre and sigma, in scale units.

    Raises ValueError for a non-finite number or a sigma that is not above zero.
    """
    middle, unit = finite("centre", centre), positive("sigma", sigma)
    widest = RANGE_FACTOR * unit
    return Limits(
        batches, middle, unit, middle - 3 * unit, middle + 3 * unit, widest, RANGE_LIMIT_FACTOR * widest, False
    )


def stand(
    values: Sequence[float],
    step: float,
    ends: Ends | None,
    rules: Iterable[int] = RULES,
    average: bool = True,
    frozen: Limits | None = None,
    start: int = 0,
) -> Standing:
    """Judge a run by its own limits or, from the value ``start`` on, by ``frozen`` ones.

    Values before ``start`` are older than the frozen limits, which say nothing of them. ends: lower and upper of the
    band in force, None where it is open; None without a band. The capability is that of all values that are judged.
    Raises ValueError for a non-finite number or a step that is not above zero.
    """
    judged = list(values[start:]) if frozen else list(values)
    start = start if frozen else 0
    if not judged or (frozen is None and len(judged) < 2):
        return Standing(frozen, None, Advice("too_few"), None, start)
    limits = frozen or limits_of(judged, step)
    run = advice.look(judged, limits, rules, average)
    able = None
    if ends and ends != (None, None) and len(judged) >= LEAST_BASELINE:
        able = capability_of(judged, *ends, step)
    said = advice.advise(run, len(judged), limits.values, able)
    return Standing(limits, _shifted(run, start), _shifted_advice(said, start), able, start)


def _shifted(run: Run, by: int) -> Run:
    """The same with indices that count from the first of all values."""
    if not by:
        return run
    episodes = tuple(
        replace(one, signals=tuple(replace(s, point=s.point + by, first=s.first + by) for s in one.signals))
        for one in run.episodes
    )
    return replace(run, episodes=episodes, drifts=tuple((no + by, side) for no, side in run.drifts))


def _shifted_advice(said: Advice, by: int) -> Advice:
    if not by or said.point is None:
        return said
    return replace(said, point=said.point + by, since=said.since + by)
