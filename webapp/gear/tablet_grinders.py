"""Entries of a grinder's log and grind checks out of a tablet's outbox: the same forms and checks as the pages."""

from __future__ import annotations

from datetime import datetime

from flask import url_for
from flask_babel import gettext as _
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict

from webapp.gear.grinder_forms import GrindCheckForm, LogForm
from webapp.gear.grinder_views import check_from
from webapp.store import gear, grinder_log
from webapp.store.errors import NotFound
from webapp.store.gear import Grinder
from webapp.ui.tablet_records import Refused, TabletRecord, invalid


class TabletGrinderEvents:
    """The handler for records of kind "grinder_event" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What is stored, and what was sent."""
        there = grinder_log.find_event(db, record.id)
        if there is None:
            return None
        form, names = record.form, setting_names(db)
        what = form.get("what", "")
        moved = form.get("setting") if what == "setting" else None
        stored = {"grinder": there.grinder_id, "what": there.what, "setting": named(there.setting_id, names)}
        sent = {"grinder": form.get("grinder", ""), "what": what, "setting": named(moved, names)}
        return (
            stored | {"note": there.note, "person": {"id": there.person_id, "name": there.person_name}},
            sent | {"note": form.get("note", "").strip(), "person": person(record)},
        )

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store. A grinder that was retired meanwhile holds nothing back: what was done, was done."""
        require_role(record)
        there = grinder_of(db, record)
        form = LogForm(formdata=MultiDict(record.form), meta={"csrf": False}).of_kind(record.form.get("what", ""))
        if not form.of(there).validate():
            raise invalid(form.problems)
        grinder_log.add_event(
            db, record.id, there.id, form.what.data, form.setting_id, form.note.data, record.who, now, record.sent,
            record.made_at,
        )  # fmt: skip
        return []

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """Where it is to be seen."""
        return {"url": url_for("gear.grinder", grinder_id=grinder_log.find_event(db, record.id).grinder_id)}


class TabletGrindChecks:
    """The handler for records of kind "grind_check" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What is stored, and what was sent: numbers as they are kept, as typed where they are none."""
        there = grinder_log.find_grind_check(db, record.id)
        if there is None:
            return None
        form, names = filled(record), setting_names(db)
        form.of(grinder_of(db, record)).validate()
        stored = {
            "grinder": there.grinder_id, "setting": named(there.setting_id, names), "coffee": there.coffee,
            "sieve_um": there.sieve_um, "total_cg": there.total_cg, "passing_cg": there.passing_cg,
            "note": there.note, "person": {"id": there.person_id, "name": there.person_name},
        }  # fmt: skip
        sent = {
            "grinder": record.form.get("grinder", ""), "setting": named(form.setting.data, names),
            "coffee": form.coffee.data, "sieve_um": number(form.sieve), "total_cg": number(form.total),
            "passing_cg": number(form.passing), "note": form.note.data, "person": person(record),
        }  # fmt: skip
        return stored, sent

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store."""
        require_role(record)
        form = filled(record).of(grinder_of(db, record))
        if not form.validate():
            raise invalid(form.problems)
        grinder_log.add_grind_check(db, check_from(form, record.id, record.made_at), record.who, now, record.sent)
        return []

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """Where it is to be seen."""
        return {"url": url_for("gear.grinder", grinder_id=grinder_log.find_grind_check(db, record.id).grinder_id)}


def filled(record: TabletRecord) -> GrindCheckForm:
    """The form as the tablet filled it."""
    return GrindCheckForm(formdata=MultiDict(record.form), meta={"csrf": False})


def require_role(record: TabletRecord) -> None:
    """Grinders are looked after by who is signed off. Like a reading it needs no PIN: who sent it is kept beside it."""
    if record.person.role == "trainee" or not record.person.active:
        text = _("%(name)s cannot add to the log of a grinder.", name=record.person.name)
        raise Refused(403, "role", [("grinder", text)])


def grinder_of(db: Database, record: TabletRecord) -> Grinder:
    """The grinder, in use or not."""
    try:
        return gear.get_grinder(db, record.form.get("grinder", ""))
    except NotFound:
        raise invalid([("grinder", _("This grinder is not known here."))]) from None


def setting_names(db: Database) -> dict[str, str]:
    """Setting id -> its name."""
    return {s.id: s.name for grinder in gear.list_grinders(db, active_only=False) for s in grinder.settings}


def named(setting_id: str | None, names: dict[str, str]) -> dict | None:
    """A setting in the words of both versions."""
    return {"id": setting_id, "name": names.get(setting_id)} if setting_id else None


def number(field) -> int | str:
    """What a number field holds; as typed, if it is no such number."""
    return field.data if field.data is not None else (field.raw_data or [""])[0]


def person(record: TabletRecord) -> dict:
    """Who captured it."""
    return {"id": record.person.id, "name": record.person.name}
