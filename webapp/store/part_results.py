"""The shapes of a batch's result: its parts, and what they come to together. results.py works them out."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PartResult:
    """One part of a batch's result; numbers in scale units, unrounded.

    `samples` count into it, `apart` are kept beside it (another method version, scale or setting).
    `verdict` is None where there is no target to judge by; `settle_fills` how many fills in all would settle it.
    grinder_state 'burrs': the burrs were changed and nothing compared since. apart_why 'setting': ground at another
    setting than the method names, shown and never judged.
    """

    batch_id: str
    kind: str
    value: float
    u: float
    fill_term: float
    reading_term: float
    step_term: float
    meter_term: float
    fills: int
    readings: int
    samples: int
    readings_disagree: int
    fills_disagree: int
    apart: int
    scale_id: str
    target_version_id: str | None
    method_version_id: str | None
    sigma_r: float | None
    sigma_f: float | None
    sigma_source: str
    u_meter_source: str
    verdict: str | None = None
    side: str | None = None
    chance: float | None = None
    position: float | None = None
    beyond: float | None = None
    settle_fills: int | None = None
    meter_state: str | None = None
    grinder_state: str | None = None
    apart_why: str | None = None

    @property
    def U(self) -> float:
        """Give or take: expanded uncertainty, k = 2 (JCGM 100)."""
        return 2 * self.u


@dataclass(frozen=True)
class BatchResult:
    """The batch's verdict, the least chance of its parts, and the kinds with a target not yet measured.

    hands_state 'waiting': a trainee read it before the sign-off, and nobody has countersigned.
    """

    batch_id: str
    verdict: str
    chance: float | None
    missing: tuple[str, ...]
    meter_state: str | None = None
    grinder_state: str | None = None
    hands_state: str | None = None
