"""The batches and samples of one file, brought in row by row inside the transaction that takes the file in.

Everything is what batches.add_batch and new_samples.add_sample would store, worked out once where it is the same for
all rows: a file may have a hundred thousand.
"""

from __future__ import annotations

import uuid
from bisect import bisect_right
from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from sqlite_utils import Database

from webapp import measure

from . import gear, ledger, meter_state, methods, products, results, routine, samples, spreads, trend_states
from .connect import one
from .times import from_text, to_text
from .who import Who

if TYPE_CHECKING:
    from .imports import NewRow, Read


@dataclass(frozen=True)
class Way:
    """How the numbers of a kind were read. average: each is the mean of readings that the file does not have."""

    method_version_id: str
    meter_id: str
    average: bool = False


class OfKind:
    """What all samples of one kind in a file have in common. The sigmas are those of this moment for all of them: what
    the bench learns from the file itself does not change from row to row."""

    def __init__(self, db: Database, kind: str, way: Way) -> None:
        self.db, self.kind, self.way = db, kind, way
        self.version = methods.get_version(db, way.method_version_id)
        self.meter = gear.get_meter(db, way.meter_id)
        scale, plate = self.meter.scale, self.meter.usable_plate
        self.span = (scale.upper - scale.lower) / 100
        self.tolerance = plate.tolerance if plate else None
        self.sigmas: measure.Sigmas = spreads.sigmas_for(db, self.version.id, scale.id, kind, self.span)
        rows = db.query("SELECT made_at FROM meter_check_result WHERE meter_id = ? ORDER BY made_at", (way.meter_id,))
        self.checked_at = [row["made_at"] for row in rows]
        self.known_u: dict[int, tuple[float, str]] = {}
        self.template: samples.Sample | None = None

    def u_meter(self, made_at: str) -> tuple[float, str]:
        """The meter's uncertainty and its source when something was read: another one after each check."""
        no = bisect_right(self.checked_at, made_at)
        if no not in self.known_u:
            at = from_text(made_at)
            self.known_u[no] = meter_state.uncertainty(self.db, self.way.meter_id, self.tolerance, self.span, at)
        return self.known_u[no]


class Bringing:
    """Brings rows in, one after the other, and then what follows from all of them."""

    def __init__(
        self, db: Database, run_id: str, ways: dict[str, Way], lines: ledger.Lines, who: Who, now: datetime
    ) -> None:
        """NotFound: a method version or a meter is unknown."""
        self.db, self.run_id, self.lines, self.now = db, run_id, lines, now
        self.kinds = {kind: OfKind(db, kind, way) for kind, way in ways.items()}
        self.by = {"person_id": who.person_id, "tablet_id": who.tablet_id}
        self.role, self.at = who.role, to_text(now)
        self.spread, self.by_month = spreads.Totals(), routine.Totals(db)
        self.versions: dict[str, list[products.Target]] = {}
        self.targets: dict[str, products.Target] = {}
        self.moved: dict[str, set[str]] = defaultdict(set)
        self.late: set[str] = set()
        self.counting = {of.way.meter_id for of in self.kinds.values() if _counts_samples(db, of.way.meter_id)}

    def bring(self, new: NewRow) -> None:
        """Store a row's batch, its samples and their result."""
        batch_id = new.batch_id
        row = {
            "id": batch_id, **new.facts, "day": new.day, **self.by, "made_at": self.at, "received_at": self.at,
            "import_id": self.run_id, "import_row": new.no,
        }  # fmt: skip
        self._insert("batch", row)
        self.lines.add("batch taken in from a file", "batch", batch_id, ledger.hash_of({"batch": [_filled(row)]}))
        stored = [
            self._sample(new, batch_id, self.kinds[kind], new.readings[kind])
            for kind in ("whole", "ground") if new.readings.get(kind)
        ]  # fmt: skip
        for sample in stored:
            spread = spreads.spread_of(sample)
            self.spread.put(sample, spread)
            self.by_month.put(sample, spread)
        if stored:
            kinds = results.first_result(self.db, batch_id, stored, self.targets)
            self.moved[new.product_id].update(kinds)

    def _insert(self, table: str, row: dict) -> None:
        self.db.conn.execute(
            f"INSERT INTO {table} ({', '.join(row)}) VALUES ({', '.join('?' * len(row))})", tuple(row.values())
        )

    def _sample(self, new: NewRow, batch_id: str, of: OfKind, reads: tuple[Read, ...]) -> samples.Sample:
        sample_id, u_meter = str(uuid.uuid5(uuid.UUID(batch_id), of.kind)), of.u_meter(new.roasted_at)
        row = {
            "id": sample_id, "batch_id": batch_id, "kind": of.kind, "method_version_id": of.version.id,
            "target_version_id": self._target(new), "meter_id": of.way.meter_id, "plate_id": None,
            "grinder_setting_id": of.version.grinder_setting_id, "checklist": "page",
            "sigma_r": float(of.sigmas.sigma_r), "sigma_f": float(of.sigmas.sigma_f),
            "sigma_source": of.sigmas.source, "u_meter": float(u_meter[0]), "u_meter_source": u_meter[1], "note": "",
            **self.by, "role": self.role, "made_at": new.roasted_at, "received_at": self.at, "import_id": self.run_id,
        }  # fmt: skip
        self._insert("sample", row)
        readings = [
            {"sample_id": sample_id, "fill_no": 1, "no": no, "value": read.value, "typed": read.typed,
             "void_reason": "", "confirmed": 0}
            for no, read in enumerate(reads, 1)
        ]  # fmt: skip
        self.db.conn.executemany(
            "INSERT INTO reading (sample_id, fill_no, no, value, typed, void_reason, confirmed)"
            " VALUES (:sample_id, :fill_no, :no, :value, :typed, :void_reason, :confirmed)",
            readings,
        )
        content = {"sample": [_filled(row)], "reading": readings, "step_done": []}
        what = "whole-bean sample taken in from a file" if of.kind == "whole" else "ground sample taken in from a file"
        self.lines.add(what, "sample", sample_id, ledger.hash_of(content))
        if of.way.meter_id in self.counting:
            self.late.update(meter_state.touched_by_sample(self.db, of.way.meter_id, new.roasted_at))
        return self._as_stored(of, row, readings)

    def _as_stored(self, of: OfKind, row: dict, readings: list[dict]) -> samples.Sample:
        """As get_sample would read it: the first one is read, the others differ from it in what they hold."""
        if of.template is None:
            of.template = samples.get_sample(self.db, row["id"])
        names = ("id", "batch_id", "target_version_id", "u_meter", "u_meter_source", "made_at")
        read = tuple(samples.Reading(1, r["no"], r["value"], r["typed"], "", False) for r in readings)
        return replace(of.template, readings=read, **{name: row[name] for name in names})

    def _target(self, new: NewRow) -> str | None:
        """As products.target_when_read: the version in force then, else the first one."""
        if new.product_id not in self.versions:
            self.versions[new.product_id] = products.list_target_versions(self.db, new.product_id)
            self.targets |= {target.id: target for target in self.versions[new.product_id]}
        newest_first = self.versions[new.product_id]
        in_force = (target.id for target in newest_first if target.made_at <= new.roasted_at)
        return next(in_force, newest_first[-1].id if newest_first else None)

    def finish(self) -> None:
        """The sums of the methods' spread, other batches whose meter's state may be another one, and how each product
        stands: once, at the end."""
        self.spread.keep(self.db)
        self.by_month.keep(self.db)
        for product_id, kinds in self.moved.items():
            trend_states.refresh(self.db, product_id, [kind for kind in results.KINDS if kind in kinds])
        for batch_id in sorted(self.late):
            results.recompute(self.db, batch_id)


def _filled(row: dict) -> dict:
    return {name: value for name, value in row.items() if value is not None}


def _counts_samples(db: Database, meter_id: str) -> bool:
    """Whether samples ever decided when a check of this meter was due."""
    return bool(one(db, "SELECT 1 FROM meter_rule WHERE meter_id = ? AND due = 'samples' LIMIT 1", (meter_id,)))
