"""Bands as pictures: two rails with a wash between them, lighter to the right whichever way the scale runs."""

from __future__ import annotations

from collections.abc import Iterable

from webapp.store.gear import Scale
from webapp.store.products import TargetBand
from webapp.ui.gauge import Gauge, make_gauge
from webapp.ui.numbers import decimal_mark


def band_gauges(bands: Iterable[TargetBand], scale: Scale) -> list[Gauge]:
    """One gauge without a value for each band."""
    found = []
    for band in bands:
        units = band.in_units()
        found.append(
            make_gauge(
                band.kind, None, None, units.lower, units.centre, units.upper,
                step=scale.step / 100, lighter=scale.lighter, decimal_mark=decimal_mark(),
            )  # fmt: skip
        )
    return found
