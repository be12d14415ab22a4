"""Countersignatures out of a tablet's outbox. As with a decision, the PIN of whoever made it must stand behind it."""

from __future__ import annotations

from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict

from webapp.bench.forms import CountersignForm
from webapp.bench.hands import chosen, not_theirs
from webapp.bench.standing import standing
from webapp.bench.tablet_decisions import require_batch
from webapp.store import countersigns
from webapp.ui.tablet_records import Refused, TabletRecord, invalid, require_person


class TabletCountersigns:
    """The handler for records of kind "countersignature" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What is stored, and what was sent."""
        there = countersigns.find_countersignature(db, record.id)
        if there is None:
            return None
        form = filled(record)
        stored = {"batch_id": there.batch_id, "samples": list(there.sample_ids), "note": there.note}
        sent = {"batch_id": record.batch_id, "samples": chosen(form), "note": form.note.data or ""}
        return (
            stored | {"person": {"id": there.person_id, "name": there.person_name}},
            sent | {"person": {"id": record.person.id, "name": record.person.name}},
        )

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store."""
        require_batch(db, record)
        require_person(record, pin_again=False)
        if not record.person.active or record.person.role == "trainee":
            text = _("%(name)s is not signed off and cannot countersign.", name=record.person.name)
            raise Refused(403, "role", [("samples", text)])
        form = filled(record)
        if not form.validate():
            raise invalid(form.problems)
        try:
            countersigns.add_countersignature(
                db, record.id, record.batch_id, chosen(form), form.note.data or "", record.who, now, record.sent,
                record.made_at,
            )  # fmt: skip
        except countersigns.NotTheirs:
            raise invalid([("samples", not_theirs())]) from None
        return []

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """Where its batch stands now."""
        return standing(db, record.batch_id)


def filled(record: TabletRecord) -> CountersignForm:
    """The form as the tablet filled it."""
    return CountersignForm(formdata=MultiDict(record.form), meta={"csrf": False})
