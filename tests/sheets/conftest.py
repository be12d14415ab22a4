"""Batches with everything that a record can tell, written as the tables have it."""

from __future__ import annotations

import re
import uuid
from dataclasses import dataclass, replace

import pytest
from sqlite_utils import Database

from tests.support.roastery import Roastery, later
from webapp.store import batches, corrections, countersigns, ledger, new_samples, results
from webapp.store.batches import Batch, NewBatch
from webapp.store.connect import write
from webapp.store.new_samples import NewReading, NewSample
from webapp.store.records import insert
from webapp.store.samples import Sample, StepDone
from webapp.store.times import to_text


def text_of(page, tag="main"):
    """What a page says, in one line."""
    return re.sub(r"\s+", " ", page.find(tag)[0].text)


def rows_of(page):
    """The rows of a sheet's tables, without their heads and without the frame, which is a table as well."""
    return [e for e in page.find("tr") if e.inside.count("table") == 2 and "thead" not in e.inside]


@dataclass(frozen=True)
class Made:
    """Writes rows, each with its ledger line, for tests of what is read."""

    bench: Roastery

    @property
    def db(self) -> Database:
        """The bench's database."""
        return self.bench.db

    def by(self, role: str) -> dict[str, str]:
        """Who, where and when."""
        at = to_text(self.bench.now)
        who = self.bench.who(role)
        return {"person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": at, "received_at": at}

    def noted(self, action: str, kind: str, record_id: str, role: str = "lead") -> None:
        """The ledger line of a record just written."""
        who = self.bench.who(role)
        ledger.note(self.db, action, kind, record_id, self.bench.now, who.person_id, who.tablet_id)

    def batch(self, code: str, **facts: object) -> Batch:
        """A batch with some of its facts different."""
        there = self.bench.batch("pattern")
        new = NewBatch(**{name: getattr(there, name) for name in batches.NEW_FIELDS})
        made = replace(new, id=str(uuid.uuid4()), code=code, **facts)
        return batches.add_batch(self.db, made, self.bench.who(), self.bench.now)

    def decide(self, batch_id: str, what: str, reason: str = "", role: str | None = "lead", **more: object) -> str:
        """A decision with everything that its row can have; without a role, as older ones are, the lead's."""
        decision_id = str(uuid.uuid4())
        result = results.get_batch_result(self.db, batch_id)
        row = {"id": decision_id, "batch_id": batch_id, "what": what, "reason": reason, "role": role}
        row |= {"verdict": result.verdict if result else "unmeasured"}
        with write(self.db):
            insert(self.db, "decision", row | self.by(role or "lead") | more)
            self.noted(f"decision: {what}", "decision", decision_id, role or "lead")
        return decision_id

    def move(self, sample_id: str, to_batch_id: str, reason: str) -> None:
        """A sample moved to another batch."""
        move_id = str(uuid.uuid4())
        with write(self.db):
            there = next(self.db.query("SELECT batch_id FROM sample WHERE id = ?", (sample_id,)))["batch_id"]
            row = {"id": move_id, "sample_id": sample_id, "from_batch_id": there, "to_batch_id": to_batch_id}
            insert(self.db, "sample_move", row | {"reason": reason} | self.by("lead"))
            self.db.conn.execute("UPDATE sample SET batch_id = ? WHERE id = ?", (to_batch_id, sample_id))
            self.noted("sample moved", "sample_move", move_id)
            for batch_id in (there, to_batch_id):
                results.recompute(self.db, batch_id)

    def correct(self, batch_id: str, fact: str, after: object, reason: str) -> None:
        """A fact of a batch corrected."""
        correction_id = str(uuid.uuid4())
        with write(self.db):
            before = next(self.db.query(f"SELECT {fact} AS it FROM batch WHERE id = ?", (batch_id,)))["it"]
            row = {"id": correction_id, "batch_id": batch_id, "reason": reason}
            insert(self.db, "batch_correction", row | self.by("lead"))
            fact_row = {"correction_id": correction_id, "fact": fact, "before": before, "after": after}
            insert(self.db, "batch_correction_fact", fact_row)
            self.db.conn.execute(f"UPDATE batch SET {fact} = ? WHERE id = ?", (after, batch_id))
            self.noted("batch corrected", "batch_correction", correction_id)

    def change(self, batch_id: str, before: str, after: str, kind: str, values: tuple[float, float]) -> None:
        """What a correction did to a result."""
        change_id = str(uuid.uuid4())
        row = {"id": change_id, "batch_id": batch_id, "cause": "correction", "cause_id": str(uuid.uuid4())}
        row |= {"verdict_before": before, "verdict_after": after, "received_at": to_text(self.bench.now)}
        part = {"change_id": change_id, "kind": kind, "value_before": values[0], "value_after": values[1]}
        with write(self.db):
            insert(self.db, "result_change", row)
            insert(self.db, "result_change_part", part | {"verdict_before": before, "verdict_after": after})
            self.noted("result changed", "result_change", change_id)

    def imported(self, file_name: str, row_no: int, **facts: object) -> str:
        """A batch out of a file; returns its id."""
        run_id, batch_id = str(uuid.uuid4()), str(uuid.uuid4())
        pattern = self.bench.batch("pattern")
        row = next(self.db.query("SELECT * FROM batch WHERE id = ?", (pattern.id,)))
        with write(self.db):
            counts = {"rows": 1, "taken": 1, "known": 0, "refused": 0}
            run = {"id": run_id, "file_name": file_name, "sha256": "0" * 64, "columns": "{}"}
            insert(self.db, "import_run", run | counts | self.by("lead"))
            self.noted("file taken in", "import_run", run_id)
            insert(self.db, "batch", row | {"id": batch_id, "import_id": run_id, "import_row": row_no} | facts)
            self.noted("batch started", "batch", batch_id)
        return batch_id

    def blend(self, code: str, parts: dict[str, int], reason: str, expected: dict | None = None) -> str:
        """A batch mixed from others, grams by batch id; expected: kind -> (value, u). Returns its id."""
        blend_id, batch_id = str(uuid.uuid4()), str(uuid.uuid4())
        row = next(self.db.query("SELECT * FROM batch WHERE id = ?", (next(iter(parts)),)))
        target = next(self.db.query("SELECT id FROM target_version"))["id"]
        with write(self.db):
            insert(self.db, "batch", row | {"id": batch_id, "code": code, "blend": 1})
            self.noted("batch started", "batch", batch_id)
            head = {"id": blend_id, "batch_id": batch_id, "target_version_id": target, "confidence": 0.8}
            insert(self.db, "blend", head | {"reason": reason} | self.by("lead"))
            for part, grams in parts.items():
                insert(self.db, "blend_part", {"blend_id": blend_id, "batch_id": part, "grams": grams})
            for kind, (value, u) in (expected or {}).items():
                insert(self.db, "blend_expected", {"blend_id": blend_id, "kind": kind, "value": value, "u": u})
            self.noted("blend planned", "blend", blend_id)
        return batch_id

    def waits(self, batch_id: str, why: str) -> None:
        """That a batch waits."""
        with write(self.db):
            self.db.conn.execute("INSERT OR REPLACE INTO batch_waiting (batch_id, why) VALUES (?, ?)", (batch_id, why))

    def everything(self) -> Batch:
        """A batch with a word of its own in every field that somebody can type: `word` + the field."""
        bench = self.bench
        batch = self.batch("W-1", lot="wordlot", note="wordbatchnote", green_g=12345, roasted_g=10321)
        other = self.batch("W-2")
        bench.check([60.1, 60.0, 60.1], at=later(bench.now, minutes=-30))
        sample = self.noted_sample(batch.id, [56.2, 91.3, 56.1], "wordsamplenote", "wordstepnote")
        bench.sample(batch.id, "ground", [61.0, 61.2, 61.1], at=later(bench.now, minutes=4))
        away = bench.sample(batch.id, "ground", [64.0, 64.2, 64.1], at=later(bench.now, minutes=5))
        self.move(away.id, other.id, "wordmovereason")
        corrections.add_correction(
            self.db, str(uuid.uuid4()), sample.id, 1, 2, 5620, "wordcorrectionreason", bench.who(), bench.now
        )
        self.correct(batch.id, "drop_decicelsius", 2111, "wordfactreason")
        self.correct(batch.id, "lot", "wordlotafter", "wordlotreason")
        self.change(batch.id, "undecided", "inside", "whole", (56.5, 56.2))
        countersigns.add_countersignature(
            self.db, str(uuid.uuid4()), batch.id, [sample.id], "wordcountersignnote", bench.who(), bench.now
        )
        self.decide(batch.id, "hold", "wordholdreason", "roaster")
        self.decide(batch.id, "concession", "wordconcessionreason", customer="wordcustomer")
        with write(self.db):
            for role, person_id in bench.people.items():
                self.db.conn.execute("UPDATE person SET name = ? WHERE id = ?", (f"word{role}name", person_id))
            self.db.conn.execute("UPDATE tablet SET name = 'wordtablet'")
        return batch

    def noted_sample(self, batch_id: str, values: list[float], note: str, step_note: str) -> Sample:
        """A trainee's sample with a note of its own, and one at its third step."""
        at, version = to_text(self.bench.now), self.bench.versions["whole"]
        readings = tuple(NewReading(1, no, round(value * 100), f"{value}") for no, value in enumerate(values, 1))
        steps = tuple(StepDone(step.no, at, step_note if step.no == 3 else "") for step in version.steps)
        new = NewSample(
            str(uuid.uuid4()), batch_id, "whole", version.id, self.bench.meter, "walked", note, at, readings, steps
        )
        return new_samples.add_sample(self.db, new, self.bench.who("trainee"), self.bench.now)


@pytest.fixture
def made(bench) -> Made:
    """Ways to write what a record tells."""
    return Made(bench)
