"""Meter checks out of a tablet's outbox: the same form and the same checks as the page, whenever they arrive."""

from __future__ import annotations

from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict

from webapp.gear import check_service as service
from webapp.gear.check_forms import CheckForm
from webapp.store import checks, gear
from webapp.store.errors import NotFound
from webapp.ui.tablet_records import TabletRecord, invalid


class TabletChecks:
    """The handler for records of kind "meter_check" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What is stored, and what was sent."""
        there = checks.find_check(db, record.id)
        if there is None:
            return None
        stored = {
            "meter": there.meter_id,
            "plate": there.plate_typed,
            "adjusted": there.adjusted,
            "note": there.note,
            "readings": [[r.stage, r.no, r.typed] for r in sorted(there.readings, key=lambda r: (r.stage, r.no))],
            "person": {"id": there.person_id, "name": there.person_name},
        }
        return stored, sent_facts(record)

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store, against the plate value that the tablet knew."""
        try:
            meter = gear.get_meter(db, record.form.get("meter", ""))
        except NotFound:
            raise invalid([("meter", _("This meter is not known here."))]) from None
        page = service.gather(db, meter, record.form.get("plate"))
        if page is None:
            raise invalid([("meter", _("This meter has no plate to be checked on."))])
        form = CheckForm(formdata=MultiDict(record.form), meta={"csrf": False})
        form.use(meter.scale, page.plate, page.planned)
        valid, problems = form.validate(), service.missing_steps(form)
        if not valid or problems:
            raise invalid([*(("", text) for text in problems), *form.problems])
        checks.add_check(db, service.new_check(form, page, now, record.made_at), record.who, now, record.sent)
        if record.sent.clock:
            return [_("This tablet's clock runs ahead. The check counts from when it arrived.")]
        return []

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """How the check went."""
        made = checks.get_check(db, record.id)
        return {"meter_id": made.meter_id, "passed": made.passed, "proven": made.proven}


def sent_facts(record: TabletRecord) -> dict:
    """What was sent, in the words of `versions`."""
    form = record.form
    adjusted = bool(form.get("adjusted"))
    rows = [(stage, no) for stage in ("found", *(("left",) if adjusted else ())) for no in range(10)]
    typed = {(stage, no): (form.get(f"{stage}-{no}-value") or "").strip() for stage, no in rows}
    return {
        "meter": form.get("meter", ""),
        "plate": (form.get("plate_typed") or "").strip(),
        "adjusted": adjusted,
        "note": (form.get("note") or "").strip(),
        "readings": [[stage, no + 1, text] for (stage, no), text in typed.items() if text],
        "person": {"id": record.person.id, "name": record.person.name},
    }
