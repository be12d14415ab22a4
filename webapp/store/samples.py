"""Samples: coffee of one batch, of one kind, measured once by one method, with every reading that was taken."""

from __future__ import annotations

from dataclasses import dataclass, field

from sqlite_utils import Database

from webapp import measure

from .connect import one
from .errors import NotFound


@dataclass(frozen=True)
class StepDone:
    """A step ticked: when (UTC text), and the value noted with it, as typed."""

    step_no: int
    done_at: str
    note: str = ""


@dataclass(frozen=True)
class Correction:
    """A later word on one reading: a new value, or None for void."""

    value: int | None
    reason: str
    person_name: str
    received_at: str


@dataclass(frozen=True)
class Reading:
    """A stored reading with its corrections, oldest first."""

    fill_no: int
    no: int
    value: int
    typed: str
    void_reason: str
    confirmed: bool
    corrections: tuple[Correction, ...] = ()

    @property
    def counts(self) -> int | None:
        """The value that counts now, in hundredths; None if void."""
        if self.corrections:
            return self.corrections[-1].value
        return None if self.void_reason else self.value


@dataclass(frozen=True)
class Sample:
    """A stored sample with its readings and steps, and the names that its ids stand for.

    `sent_by` to `tablet_seq` as in who.Sent. `setting`: grinder and setting; `asked_setting`: those that the method
    version names.
    """

    id: str
    batch_id: str
    kind: str
    method_version_id: str
    target_version_id: str | None
    meter_id: str
    plate_id: str | None
    grinder_setting_id: str | None
    checklist: str
    sigma_r: float
    sigma_f: float
    sigma_source: str
    u_meter: float
    u_meter_source: str
    note: str
    person_id: str
    role: str
    tablet_id: str
    made_at: str
    received_at: str
    sent_by: str | None
    claim_id: str | None
    tablet_clock: str | None
    tablet_seq: int | None
    import_id: str | None
    person_name: str
    sent_by_name: str | None
    tablet_name: str
    meter_name: str
    scale_id: str
    scale_lower: int
    scale_upper: int
    step: int
    lighter: int
    method_id: str
    method_name: str
    method_no: int
    planned_readings: int
    setting: str | None
    setting_name: str | None
    grinder_id: str | None
    asked_setting_id: str | None
    asked_setting: str | None
    asked_setting_name: str | None
    asked_grinder_id: str | None
    readings: tuple[Reading, ...] = ()
    steps: tuple[StepDone, ...] = field(default=())

    @property
    def off_setting(self) -> bool:
        """Ground at another setting than its method version names: kept apart, never judged."""
        return self.asked_setting_id is not None and self.grinder_setting_id != self.asked_setting_id

    @property
    def ground_at(self) -> tuple[str, str] | None:
        """(Where it was ground, where its method asks for) if it is `off_setting`: the settings' names, with their
        grinders' where these differ."""
        if not self.off_setting:
            return None
        if self.grinder_id == self.asked_grinder_id:
            return self.setting_name, self.asked_setting_name
        return self.setting or "–", self.asked_setting

    @property
    def sigmas(self) -> measure.Sigmas:
        """The sigmas that were in force when it was stored, in scale units."""
        return measure.Sigmas(self.sigma_r, self.sigma_f, self.sigma_source)

    def fills(self) -> list[measure.FillValue]:
        """The value of each fill that has a reading which counts, in scale units."""
        by_fill: dict[int, list[float]] = {}
        for reading in self.readings:
            if reading.counts is not None:
                by_fill.setdefault(reading.fill_no, []).append(reading.counts / 100)
        return [
            measure.fill_value(values, self.planned_readings, self.sigma_r, self.step / 100, final=True)
            for _no, values in sorted(by_fill.items())
        ]


SELECT = (
    "SELECT s.*, w.name AS person_name, x.name AS sent_by_name, t.name AS tablet_name, m.name AS meter_name,"
    " m.scale_id, c.lower AS scale_lower, c.upper AS scale_upper, c.step, c.lighter, v.method_id,"
    " d.name AS method_name, v.no AS method_no, v.planned_readings, g.name || ', ' || gs.name AS setting,"
    " gs.name AS setting_name, gs.grinder_id, v.grinder_setting_id AS asked_setting_id,"
    " ag.name || ', ' || ags.name AS asked_setting, ags.name AS asked_setting_name, ags.grinder_id AS asked_grinder_id"
    " FROM sample s"
    " JOIN person w ON w.id = s.person_id JOIN tablet t ON t.id = s.tablet_id JOIN meter m ON m.id = s.meter_id"
    " JOIN scale c ON c.id = m.scale_id JOIN method_version v ON v.id = s.method_version_id"
    " JOIN method d ON d.id = v.method_id LEFT JOIN grinder_setting gs ON gs.id = s.grinder_setting_id"
    " LEFT JOIN grinder g ON g.id = gs.grinder_id LEFT JOIN person x ON x.id = s.sent_by"
    " LEFT JOIN grinder_setting ags ON ags.id = v.grinder_setting_id LEFT JOIN grinder ag ON ag.id = ags.grinder_id"
)


def get_sample(db: Database, sample_id: str) -> Sample:
    """One sample; NotFound if there is none."""
    found = _load(db, "s.id = ?", sample_id)
    if not found:
        raise NotFound(sample_id)
    return found[0]


def get_samples(db: Database, batch_id: str) -> list[Sample]:
    """All samples of a batch in the order in which they were stored."""
    return _load(db, "s.batch_id = ?", batch_id)


def kinds_read(db: Database, batch_id: str) -> set[str]:
    """The kinds of which a batch has a sample."""
    return {row["kind"] for row in db.query("SELECT DISTINCT kind FROM sample WHERE batch_id = ?", (batch_id,))}


def last_meter(db: Database, batch_id: str) -> str | None:
    """The meter that a batch was last read on, or None."""
    row = one(db, "SELECT meter_id FROM sample WHERE batch_id = ? ORDER BY rowid DESC LIMIT 1", (batch_id,))
    return row["meter_id"] if row else None


def _load(db: Database, where: str, value: str) -> list[Sample]:
    rows = list(db.query(f"{SELECT} WHERE {where} ORDER BY s.rowid", (value,)))
    return [
        Sample(**row, readings=_readings(db, row["id"]), steps=_steps(db, row["id"]))
        for row in rows
    ]  # fmt: skip


def _readings(db: Database, sample_id: str) -> tuple[Reading, ...]:
    corrections: dict[tuple[int, int], list[Correction]] = {}
    for row in db.query(
        "SELECT c.fill_no, c.reading_no, c.value, c.reason, w.name, c.received_at FROM correction c"
        " JOIN person w ON w.id = c.person_id WHERE c.sample_id = ? ORDER BY c.rowid",
        (sample_id,),
    ):
        key = row["fill_no"], row["reading_no"]
        corrections.setdefault(key, []).append(Correction(row["value"], row["reason"], row["name"], row["received_at"]))
    return tuple(
        Reading(
            row["fill_no"], row["no"], row["value"], row["typed"], row["void_reason"], bool(row["confirmed"]),
            tuple(corrections.get((row["fill_no"], row["no"]), ())),
        )
        for row in db.query("SELECT * FROM reading WHERE sample_id = ? ORDER BY fill_no, no", (sample_id,))
    )  # fmt: skip


def _steps(db: Database, sample_id: str) -> tuple[StepDone, ...]:
    rows = db.query("SELECT step_no, done_at, note FROM step_done WHERE sample_id = ? ORDER BY step_no", (sample_id,))
    return tuple(StepDone(**row) for row in rows)
