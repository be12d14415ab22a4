"""What the capture page needs to know about one batch and kind, gathered once for the page and for its checks."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import datetime

from sqlite_utils import Database

from webapp import measure
from webapp.store import gear, grinder_log, meter_state, methods, products, samples, spreads
from webapp.store.batches import Batch
from webapp.store.errors import NotFound
from webapp.store.gear import Meter
from webapp.store.methods import MethodVersion
from webapp.store.products import Target, TargetBand
from webapp.store.samples import Sample
from webapp.store.shown_before import shown_before
from webapp.store.times import from_text
from webapp.ui.gauge import Gauge, make_gauge
from webapp.ui.meter_words import MeterLine, meter_line

SPARE_READINGS = 2


def room_for(planned: int) -> int:
    """How many readings of a fill a form has room for: the plan, one round more, and two struck out."""
    return planned + measure.more_readings(max(2, planned)) + SPARE_READINGS


@dataclass(frozen=True)
class SettingChoice:
    """Where a sample may be ground, as the page calls it: `7, Grinder 1`. A narrow choice cuts off the end."""

    id: str
    name: str


@dataclass(frozen=True)
class Practice:
    """What practice adds to a page. number: what the form goes by; shows: for each fill, what the practice meter shows
    turn by turn, as printed (nothing where a dish of one's own is read)."""

    number: str
    shows: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class CapturePage:
    """Batch, method and target in force, the meters on the target's scale, and what was shown before.

    settings: for a method that names a setting, that one first, then all others. practice: the batch is invented, and
    nothing of it is stored. Only what is shown needs the rest (``shown``): earlier: the samples of this kind that are
    there already; u_meter: the meter's uncertainty; line: how the meter stands; setting: the likely one.
    """

    batch: Batch
    kind: str
    method: MethodVersion
    target: Target | None
    band: TargetBand | None
    meters: list[Meter]
    meter: Meter
    sigmas: measure.Sigmas
    shown: list[float]
    settings: list[SettingChoice]
    earlier: list[Sample] = field(default_factory=list)
    u_meter: float | None = None
    line: MeterLine | None = None
    setting: str | None = None
    practice: Practice | None = None

    @property
    def step(self) -> float:
        """Resolution of the scale, in scale units."""
        return self.meter.scale.step / 100

    @property
    def rows(self) -> int:
        """How many readings of a fill the form has room for."""
        return room_for(self.method.planned_readings)

    def history(self) -> tuple[float, float, int]:
        """(mean, SD, n) of what this product has shown."""
        return summary(self.shown)

    @property
    def gauge(self) -> Gauge:
        """The gauge before the first reading."""
        scale = self.meter.scale
        limits = band_units(self.band) or {"lower": None, "centre": None, "upper": None}
        return make_gauge(
            self.kind,
            None,
            None,
            **limits,
            step=self.step,
            lighter=scale.lighter,
            scale=(scale.lower / 100, scale.upper / 100),
        )

    def kit(self) -> str:
        """The same as JSON, for the script that shows the position as readings come in."""
        scale = self.meter.scale
        mean, sd, n = self.history()
        return json.dumps(
            {
                "kind": self.kind,
                "planned": self.method.planned_readings,
                "scale": {
                    "lower": scale.lower / 100,
                    "upper": scale.upper / 100,
                    "step": self.step,
                    "lighter": scale.lighter,
                },
                "sigmas": {
                    "sigmaR": self.sigmas.sigma_r,
                    "sigmaF": self.sigmas.sigma_f,
                    "source": self.sigmas.source,
                },
                "uMeter": self.u_meter,
                "band": band_units(self.band),
                "rule": {"kind": self.target.rule, "confidence": self.target.confidence} if self.target else None,
                "history": {"mean": mean, "sd": sd, "n": n},
                "wholeDigits": whole_digits(self.band, self.shown),
            }
        )


def summary(shown: list[float]) -> tuple[float, float, int]:
    """(mean, SD, n) of results; SD 0 with fewer than two, all 0 with none."""
    if not shown:
        return 0.0, 0.0, 0
    sd = measure.standard_deviation(shown) if len(shown) > 1 else 0.0
    return measure.mean(shown), sd, len(shown)


def band_units(band: TargetBand | None) -> dict | None:
    """Limits and centre in scale units."""
    if band is None:
        return None
    return {n: None if getattr(band, n) is None else getattr(band, n) / 100 for n in ("lower", "centre", "upper")}


def whole_digits(band: TargetBand | None, shown: list[float]) -> int | None:
    """Digits before the point of every number to be expected here, so that the pad can set the point by itself.

    None where they differ (98 and 102) or nothing is known: then the point is typed.
    """
    numbers = list(shown[:10])
    if band:
        limits = [v / 100 for v in (band.lower, band.centre, band.upper) if v is not None]
        width = max(limits) - min(limits)
        numbers += [min(limits) - 2 * width, max(limits) + 2 * width]
    digits = {len(str(int(abs(number)))) for number in numbers if number > 0}
    return digits.pop() if len(digits) == 1 and min(numbers, default=-1) >= 0 else None


def gather(
    db: Database, batch: Batch, kind: str, meter_id: str | None, method_id: str | None
) -> CapturePage | None:
    """The page for one batch and kind, as far as a form is checked by it; None where there is no method or no meter to
    measure with."""
    target = products.target_in_force(db, batch.product_id)
    wanted = method_id or (target and (target.whole_method_id if kind == "whole" else target.ground_method_id))
    if not wanted:
        usable = methods.list_methods(db, kind)
        wanted = usable[0].method_id if usable else None
    meters = [m for m in gear.list_meters(db) if m.active]
    on_scale = usable_meters(meters, target)
    if not wanted or not on_scale:
        return None
    likely = meter_id or samples.last_meter(db, batch.id)
    meter = next((m for m in on_scale if m.id == likely), on_scale[0])
    method = methods.version_in_force(db, wanted)
    span = (meter.scale.upper - meter.scale.lower) / 100
    return CapturePage(
        batch,
        kind,
        method,
        target,
        target.bands.get(kind) if target and target.scale.id == meter.scale.id else None,
        on_scale,
        meter,
        spreads.sigmas_for(db, method.id, meter.scale.id, kind, span),
        shown_before(db, batch.product_id, kind, meter.scale.id, method),
        settings_for(db, method),
    )


def shown(db: Database, page: CapturePage, now: datetime) -> CapturePage:
    """The same page with all that is shown beside the form."""
    return replace(
        page,
        earlier=[s for s in samples.get_samples(db, page.batch.id) if s.kind == page.kind],
        u_meter=meter_state.meter_u(db, page.meter, now),
        line=meter_line(page.meter, meter_state.standing(db, page.meter.id, now), now),
        setting=likely_setting(db, page.method),
    )


def usable_meters(meters: list[Meter], target: Target | None) -> list[Meter]:
    """The meters to offer: those on the target's scale; all, where there is no target or none is on its scale."""
    return [m for m in meters if target is None or m.scale.id == target.scale.id] or meters


def settings_for(db: Database, method: MethodVersion, active_only: bool = True) -> list[SettingChoice]:
    """The method's own setting, then those of every grinder; none for a method that names no setting."""
    if method.grinder_setting_id is None:
        return []
    own = SettingChoice(method.grinder_setting_id, f"{method.setting_name}, {method.grinder_name}")
    grinders = gear.list_grinders(db, active_only)
    return [own] + [
        SettingChoice(s.id, f"{s.name}, {grinder.name}") for grinder in grinders for s in grinder.settings
        if s.id != own.id
    ]  # fmt: skip


def likely_setting(db: Database, method: MethodVersion) -> str | None:
    """Where the method's grinder stands by its log; as the method says, if the log does not tell."""
    asked = method.grinder_setting_id
    return asked and (grinder_log.stands_at(db, asked) or asked)


def as_captured(
    db: Database, batch: Batch, kind: str, meter: Meter, method: MethodVersion, made_at: datetime, now: datetime
) -> CapturePage:
    """The page as a tablet had it when it read: by this meter, this version, and the target in force at the time.

    Whatever has been retired or replaced meanwhile: what was read, was read with it.
    """
    target = products.target_when_read(db, batch.product_id, made_at, from_text(batch.roasted_at), now)
    span = (meter.scale.upper - meter.scale.lower) / 100
    return CapturePage(
        batch,
        kind,
        method,
        target,
        target.bands.get(kind) if target and target.scale.id == meter.scale.id else None,
        [meter],
        meter,
        spreads.sigmas_for(db, method.id, meter.scale.id, kind, span),
        shown_before(db, batch.product_id, kind, meter.scale.id, method),
        settings_for(db, method, active_only=False),
    )


def with_version(db: Database, page: CapturePage, version_id: str) -> CapturePage:
    """The same page with the method version that the form was opened with: a running capture finishes on its own,
    with what is known about the spread of that version, and what it has shown.

    Keeps the page's version if the other one is not for coffee of this kind.
    """
    try:
        version = methods.get_version(db, version_id)
    except NotFound:
        return page
    if version.kind != page.kind:
        return page
    scale = page.meter.scale
    span = (scale.upper - scale.lower) / 100
    return replace(
        page,
        method=version,
        sigmas=spreads.sigmas_for(db, version.id, scale.id, page.kind, span),
        settings=settings_for(db, version),
        shown=shown_before(db, page.batch.product_id, page.kind, scale.id, version),
    )
