"""A tablet's outbox in a few lines: records as a script would make them from the plain forms, and how it sends them."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from tests.support.pages import CheckingClient
from tests.support.roastery import Roastery
from webapp.store.times import to_text
from webapp.ui.filters import ZoneInfo

OWN = {"Content-Type": "application/json", "X-CSRFToken": "any", "Sec-Fetch-Site": "same-origin"}


@dataclass
class Outbox:
    """Sends as one tablet's script does, with whoever is signed in there."""

    client: CheckingClient

    def post(self, records: Sequence[object], path: str = "/records", **headers: str):
        """The raw answer."""
        return self.client.post(path, json={"records": list(records), "build": "of a test"}, headers=OWN | headers)

    def send(self, *records: object) -> list[dict]:
        """What is said about each record, in order."""
        answer = self.post(records)
        assert answer.status_code == 200, answer.text
        return answer.get_json()["results"]

    def send_one(self, record: object) -> dict:
        """What is said about one record."""
        (said,) = self.send(record)
        return said


def new_id() -> str:
    """An id as a tablet makes it."""
    return str(uuid.uuid4())


def envelope(bench: Roastery, kind: str, by: str, at: datetime | None, form: dict, **more: object) -> dict:
    """What every record has."""
    made = {"id": new_id(), "kind": kind, "person_id": bench.people[by], "claim_id": None, "seq": 1}
    return made | {"made_at": to_text(at or bench.now), "form": form} | more


def batch_record(
    bench: Roastery, by: str = "roaster", at: datetime | None = None, form: dict | None = None, **more: object
) -> dict:
    """A batch that was roasted at `at`. `form` changes its fields, `more` what stands around them."""
    local = (at or bench.now).astimezone(ZoneInfo("Europe/Vienna"))
    fields = {
        "product": bench.product, "machine": bench.machine, "code": f"K-{uuid.uuid4().hex[:6]}", "lot": "Lot 3",
        "day": local.date().isoformat(), "clock": local.strftime("%H:%M"), "green": "12,0", "roasted": "10.2",
        "drop": "204,5", "total": "11:30", "development": "1:45", "note": "",
    }  # fmt: skip
    return envelope(bench, "batch", by, at, fields | (form or {}), **more)


def sample_record(
    bench: Roastery, batch_id: str, kind: str = "whole", readings: Sequence[str] = ("56.1", "56.4", "56.1"),
    by: str = "roaster", at: datetime | None = None, form: dict | None = None, **more: object,
) -> dict:  # fmt: skip
    """A sample with these readings as typed, every step ticked."""
    version = bench.versions[kind]
    moment = to_text(at or bench.now)
    fields = {"made_at": moment, "method_version": version.id, "checklist": "walked", "meter": bench.meter, "note": ""}
    for index, _step in enumerate(version.steps):
        fields |= {f"steps-{index}-done": "y", f"steps-{index}-at": moment, f"steps-{index}-note": ""}
    for index, text in enumerate(readings):
        fields |= {f"fills-0-readings-{index}-value": text, f"fills-0-readings-{index}-void": ""}
    around = {"batch_id": batch_id, "sample_kind": kind}
    return envelope(bench, "sample", by, at, fields | (form or {}), **around | more)


def decision_record(
    bench: Roastery, batch_id: str, what: str = "release", reason: str = "", by: str = "roaster",
    at: datetime | None = None, **more: object,
) -> dict:  # fmt: skip
    """What becomes of a batch."""
    return envelope(bench, "decision", by, at, {"what": what, "reason": reason}, **{"batch_id": batch_id} | more)


def claim_record(bench: Roastery, by: str, at: datetime | None = None, **more: object) -> dict:
    """Somebody says that they are this person."""
    made = {"id": new_id(), "kind": "claim", "person_id": bench.people[by], "claimed_at": to_text(at or bench.now)}
    return made | {"seq": 1} | more


def roast(bench: Roastery, by: str = "roaster", at: datetime | None = None, **more: object) -> list[dict]:
    """A batch with both samples, in band."""
    batch = batch_record(bench, by, at, **more)
    return [
        batch,
        sample_record(bench, batch["id"], "whole", by=by, at=at, **more),
        sample_record(bench, batch["id"], "ground", ("61.0", "61.1", "60.9"), by=by, at=at, **more),
    ]
