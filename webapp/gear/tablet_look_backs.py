"""Words on samples of a look-back out of a tablet's outbox: who says one stands behind it with their PIN."""

from __future__ import annotations

from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict

from webapp.gear.look_back_forms import SettleForm
from webapp.store import checks, look_backs
from webapp.store.errors import AlreadyThere, NotFound
from webapp.ui.tablet_records import Refused, TabletRecord, invalid, require_person

MAY = {"accepted": ("lead",), "held": ("roaster", "lead")}


class TabletLookBacks:
    """The handler for records of kind "look_back_entry" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What is stored, and what was sent."""
        there = look_backs.find_entry(db, record.id)
        if there is None:
            return None
        stored = {
            "check": there.check_id, "sample": there.sample_id, "what": there.what, "reason": there.reason,
            "person": {"id": there.person_id, "name": there.person_name},
        }  # fmt: skip
        sent = {name: record.form.get(name, "").strip() for name in ("check", "sample", "what", "reason")}
        return stored, sent | {"person": {"id": record.person.id, "name": record.person.name}}

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store. What somebody else has settled meanwhile is refused, and nothing is overwritten."""
        what = record.form.get("what", "")
        if what not in MAY:
            raise invalid([("what", _("It does not say what becomes of the sample."))])
        require_person(record, pin_again=what == "accepted")
        if not record.person.active or record.person.role not in MAY[what]:
            text = _("%(name)s cannot decide this about the batch as it stands here.", name=record.person.name)
            raise Refused(403, "role", [("what", text)])
        form = SettleForm(formdata=MultiDict(record.form), meta={"csrf": False})
        if not form.validate():
            raise invalid(form.problems)
        try:
            check = checks.get_check(db, form.check.data)
            look_backs.settle(
                db, check, form.sample.data, what, form.reason.data, record.who, now, record.id, record.sent,
                record.made_at,
            )  # fmt: skip
        except NotFound:
            raise invalid([("sample", _("This sample is in no look-back of that check."))]) from None
        except AlreadyThere:
            there = look_backs.entry_of(db, form.sample.data)
            text = _("%(name)s settled this sample meanwhile: nothing was overwritten.", name=there.person_name)
            raise invalid([("sample", text)]) from None
        return []

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """What became of the sample."""
        there = look_backs.find_entry(db, record.id)
        return {"check_id": there.check_id, "sample_id": there.sample_id, "what": there.what}
