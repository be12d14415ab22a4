"""Samples out of a tablet's outbox: the same form and the same checks as the page, whenever they arrive."""

from __future__ import annotations

from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict
from wtforms.fields.choices import SelectChoice

from webapp.bench import page as pages
from webapp.bench import service
from webapp.bench.filling import ROW_NAME, trimmed, with_steps
from webapp.bench.forms import CaptureForm
from webapp.bench.hands import must_walk
from webapp.bench.standing import standing
from webapp.store import batches, gear, methods, new_samples, sample_moves, samples, times
from webapp.store.errors import NotFound
from webapp.store.gear import Meter
from webapp.store.methods import MethodVersion
from webapp.store.samples import Sample
from webapp.ui.tablet_records import Refused, TabletRecord, invalid

MOST_STEPS, MOST_FILLS, MOST_READINGS = 40, 4, 12


class TabletSamples:
    """The handler for records of kind "sample" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What was stored at first, in whichever batch it is now, and what was sent."""
        try:
            there = samples.get_sample(db, record.id)
        except NotFound:
            return None
        first = sample_moves.first_batch(db, there.id) or there.batch_id
        return stored_facts(there) | {"batch_id": first}, sent_facts(filled(record), record, db)

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store; what nobody was asked about on the tablet comes back as remarks."""
        try:
            batch = batches.get_batch(db, record.batch_id)
        except NotFound:
            waits = _("Its batch is not stored yet.")
            raise Refused(404, "no_batch", [("batch_id", waits)], missing=record.batch_id) from None
        made_at = times.from_text(record.made_at)
        meter, method = meter_of(db, record), method_of(db, record)
        page = pages.as_captured(db, batch, record.sample_kind, meter, method, made_at, now)
        form = filled(record, len(method.steps))
        form.meter.choices = [SelectChoice(meter.id, meter.name)]
        valid = form.validate()
        walk = must_walk(db, record.person.id, record.person.role, record.sample_kind, record.made_at)
        checked = service.new_sample(form, page, walk, now, record.made_at, insist=False)
        if not valid or checked.sample is None:
            raise invalid([*(("", text) for text in checked.problems), *form.problems])
        new_samples.add_sample(db, checked.sample, record.who, now, record.sent)
        return checked.questions

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """Where its batch stands now."""
        return standing(db, record.batch_id)


def meter_of(db: Database, record: TabletRecord) -> Meter:
    """The meter that it was read with, in use or not."""
    try:
        return gear.get_meter(db, record.form.get("meter", ""))
    except NotFound:
        raise invalid([("meter", _("This meter is not known here."))]) from None


def method_of(db: Database, record: TabletRecord) -> MethodVersion:
    """The method version that it was prepared by, in force or not."""
    try:
        version = methods.get_version(db, record.form.get("method_version", ""))
    except NotFound:
        raise invalid([("method_version", _("This method is not known here."))]) from None
    if version.kind != record.sample_kind:
        raise invalid([("method_version", _("This method is not for coffee of this kind."))])
    return version


def filled(record: TabletRecord, steps: int = 0) -> CaptureForm:
    """The form as the tablet filled it, with room for everything that was sent and for so many steps.

    A field list drops what it has no room for without a word: that is refused here.
    """
    fields = {name: text for name, text in record.form.items() if name != "take"}
    for name, text in fields.items():
        found = ROW_NAME.fullmatch(name)
        if found is None or not text.strip():
            continue
        step, fill, reading = (0 if number is None else int(number) + 1 for number in found.groups())
        if step > MOST_STEPS or fill > MOST_FILLS or reading > MOST_READINGS:
            raise invalid([(name, _("There is no room for this in the form."))])
        steps = max(steps, step)
    return CaptureForm(formdata=with_steps(trimmed(MultiDict(fields)), steps), meta={"csrf": False})


def stored_facts(there: Sample) -> dict:
    """A stored sample in the words of both versions."""
    return {
        "batch_id": there.batch_id,
        "kind": there.kind,
        "method": {"id": there.method_version_id, "name": there.method_name, "no": there.method_no},
        "meter": {"id": there.meter_id, "name": there.meter_name},
        "setting": {"id": there.grinder_setting_id, "name": there.setting},
        "checklist": there.checklist,
        "note": there.note,
        "readings": [
            {"fill": r.fill_no, "no": r.no, "typed": r.typed, "void": r.void_reason, "sure": r.confirmed}
            for r in there.readings
        ],
        "steps": [{"no": step.step_no, "note": step.note} for step in there.steps],
        "person": {"id": there.person_id, "name": there.person_name},
    }


def setting_of(db: Database, setting_id: str | None) -> dict:
    """Where it was ground, with its name."""
    grinders = gear.list_grinders(db, active_only=False)
    names = {s.id: f"{grinder.name}, {s.name}" for grinder in grinders for s in grinder.settings}
    return {"id": setting_id, "name": names.get(setting_id)}


def sent_facts(form: CaptureForm, record: TabletRecord, db: Database) -> dict:
    """What was sent, in the same words."""
    meters = {meter.id: meter.name for meter in gear.list_meters(db, active_only=False)}
    try:
        method = methods.get_version(db, form.method_version.data or "")
        by = {"id": method.id, "name": method.name, "no": method.no}
        asked = method.grinder_setting_id
    except NotFound:
        asked = None
        by = {"id": form.method_version.data, "name": None, "no": None}
    return {
        "batch_id": record.batch_id,
        "kind": record.sample_kind,
        "method": by,
        "meter": {"id": form.meter.data, "name": meters.get(form.meter.data)},
        # Left out, also by an entry of an older build, it is the method's.
        "setting": setting_of(db, (form.setting.data or asked) if asked else None),
        "checklist": form.checklist.data if form.checklist.data in ("walked", "short", "page") else "page",
        "note": form.note.data or "",
        "readings": [
            {
                "fill": fill_no, "no": no, "typed": entry.form.value.data.strip(), "void": entry.form.void.data or "",
                "sure": bool(entry.form.sure.data),
            }
            for fill_no, fill in enumerate(form.fills, 1)
            for no, entry in enumerate(fill.form.readings, 1)
            if (entry.form.value.data or "").strip()
        ],
        "steps": [
            {"no": no, "note": (entry.form.note.data or "").strip()}
            for no, entry in enumerate(form.steps, 1)
            if entry.form.done.data
        ],
        "person": {"id": record.person.id, "name": record.person.name},
    }  # fmt: skip
