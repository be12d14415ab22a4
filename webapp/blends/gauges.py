"""What a blend is expected to read, or reads, on the gauge that a result has."""

from __future__ import annotations

from webapp.measure.conformity import judge
from webapp.store.products import Target
from webapp.ui.filters import shade
from webapp.ui.gauge import Gauge, make_gauge
from webapp.ui.numbers import decimal_mark


def gauge_of(target: Target, kind: str, value: float, u: float) -> Gauge:
    """A value of a kind with its standard uncertainty, in scale units, against the target's band."""
    scale, band = target.scale, target.bands[kind].in_units()
    ends = (scale.lower / 100, scale.upper / 100)
    brown = "" if kind == "difference" else shade(value, *ends, scale.lighter)
    verdict = judge(value, u, band, target.as_rule(), scale.lighter).verdict
    return make_gauge(
        kind, value, 2 * u, band.lower, band.centre, band.upper, step=scale.step / 100, lighter=scale.lighter,
        shade=brown, verdict=verdict, decimal_mark=decimal_mark(),
    )  # fmt: skip
