"""Decisions out of a tablet's outbox. One speaks for its person only if that person's PIN stands behind it."""

from __future__ import annotations

from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict

from webapp.bench.standing import standing
from webapp.store import batches, decisions, results
from webapp.store.errors import NotFound
from webapp.store.who_decides import PIN_AGAIN, may_decide, needs_reason
from webapp.ui.decision_form import DecisionForm
from webapp.ui.tablet_records import Refused, TabletRecord, invalid, require_person


class TabletDecisions:
    """The handler for records of kind "decision" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What is stored, and what was sent."""
        there = decisions.find_decision(db, record.id)
        if there is None:
            return None
        form = filled(record)
        stored = {"batch_id": there.batch_id, "what": there.what, "reason": there.reason}
        sent = {"batch_id": record.batch_id, "what": form.what.data or "", "reason": form.reason.data or ""}
        if there.customer or customer_of(form):
            stored, sent = stored | {"customer": there.customer or ""}, sent | {"customer": customer_of(form) or ""}
        return (
            stored | {"person": {"id": there.person_id, "name": there.person_name}},
            sent | {"person": {"id": record.person.id, "name": record.person.name}},
        )

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store, with the verdict as it stands here and now."""
        require_batch(db, record)
        form = filled(record)
        what = form.what.data or ""
        require_person(record, what in PIN_AGAIN)
        stands, last = results.get_batch_result(db, record.batch_id), decisions.last_decision(db, record.batch_id)
        if not record.person.active or what not in may_decide(record.person.role, stands, last):
            text = _("%(name)s cannot decide this about the batch as it stands here.", name=record.person.name)
            raise Refused(403, "role", [("what", text)])
        valid = form.validate()
        # A form that has not seen what stands cannot have been asked why it takes that one's place.
        seen = last if last and form.seen.data == last.id else None
        if needs_reason(what, seen) and not form.reason.data:
            raise invalid([("reason", _("Give the reason: it stays on the record."))])
        if not valid:
            raise invalid(form.problems)
        decisions.add_decision(
            db, record.id, record.batch_id, what, form.reason.data or "", record.who, now, record.sent, record.made_at,
            customer=customer_of(form),
        )  # fmt: skip
        return []

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """Where its batch stands now."""
        return standing(db, record.batch_id)


def customer_of(form: DecisionForm) -> str | None:
    """Who accepts a concession, where one is named."""
    return (form.customer.data or None) if form.what.data == "concession" else None


def filled(record: TabletRecord) -> DecisionForm:
    """The form as the tablet filled it."""
    return DecisionForm(formdata=MultiDict(record.form), meta={"csrf": False})


def require_batch(db: Database, record: TabletRecord) -> None:
    """Refuse for now what comes before its batch."""
    try:
        batches.get_batch(db, record.batch_id)
    except NotFound:
        waits = _("Its batch is not stored yet.")
        raise Refused(404, "no_batch", [("batch_id", waits)], missing=record.batch_id) from None
