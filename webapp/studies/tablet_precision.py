"""Fills of a precision study out of a tablet's outbox: the same form and the same checks as the page, whenever they
arrive."""

from __future__ import annotations

from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.store import precision
from webapp.store.errors import NotFound
from webapp.store.precision import Place, Study
from webapp.studies import precision_read, taking
from webapp.studies.precision_forms import StudyFillForm
from webapp.ui.tablet_records import TabletRecord, invalid


class TabletPrecision:
    """The handler for records of kind "precision_fill" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What is stored, and what was sent."""
        there = precision.find_fill(db, record.id)
        if there is None:
            return None
        stored = {
            "study_id": there.study_id, "place": str(there.place_no), "note": there.note,
            "readings": taking.stored_facts(there.readings),
            "person": {"id": there.person_id, "name": there.person_name},
        }  # fmt: skip
        return stored, sent_facts(db, record)

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store. A second fill of a place, and what comes after the outcome, is kept and does not count."""
        study, place = place_of(db, record)
        if place.preparer_id != record.person.id:
            raise invalid([("place", precision_read.not_yours(place))])
        form, over = filled(record, study)
        if over:
            raise invalid([(name, _("There is no room for this in the form.")) for name in over])
        taken = precision_read.take(form, db, study, place, now, record.made_at, insist=False)
        if taken.fill is None:
            raise invalid([*(("", text) for text in taken.problems), *form.problems])
        closed = precision_read.settled() if precision.find_outcome(db, study.id) else None
        remark = closed or precision_read.second(db, study, place)
        precision.add_fill(db, taken.fill, record.who, now, record.sent)
        return [*taken.questions, *([remark] if remark else [])]

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """What was stored; no number, which whoever reads next must not see."""
        there = precision.find_fill(db, record.id)
        return {"study_id": there.study_id, "place": there.place_no}


def place_of(db: Database, record: TabletRecord) -> tuple[Study, Place]:
    """What was read, by the form's own word. A study is planned on the server: it is there or unknown."""
    number = record.form.get("place", "")
    try:
        study = precision.get_study(db, record.form.get("study", ""))
        place = study.place(int(number) if number.isascii() and number.isdigit() and len(number) < 5 else 0)
    except NotFound:
        raise invalid([("study", _("This fill of a precision study is not known here."))]) from None
    return study, place


def filled(record: TabletRecord, study: Study) -> tuple[StudyFillForm, list[str]]:
    """The form as the tablet filled it, and the fields that it has no room for."""
    fields, over = precision_read.with_rows(record.form, study)
    return StudyFillForm(formdata=fields, meta={"csrf": False}), over


def sent_facts(db: Database, record: TabletRecord) -> dict:
    """What was sent, in the words of what is stored."""
    form, over = filled(record, place_of(db, record)[0])
    return {
        "study_id": record.form.get("study"), "place": record.form.get("place"), "note": form.note.data or "",
        "readings": taking.sent_facts(form.readings, 1) + over,
        "person": {"id": record.person.id, "name": record.person.name},
    }  # fmt: skip
