"""Compared coffees out of a tablet's outbox: the same form and the same checks as the page, whenever they arrive."""

from __future__ import annotations

from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.store import compared, comparisons
from webapp.store.comparisons import Coffee, Comparison, SideName
from webapp.store.errors import NotFound
from webapp.studies import service, taking
from webapp.studies.forms import SampleForm
from webapp.ui.tablet_records import TabletRecord, invalid


class TabletComparisons:
    """The handler for records of kind "comparison_sample" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What is stored, and what was sent."""
        there = comparisons.find_sample(db, record.id)
        if there is None:
            return None
        stored = {
            "comparison_id": there.comparison_id, "coffee": str(there.coffee_no), "side": there.side,
            "note": there.note, "readings": taking.stored_facts(there.readings),
            "person": {"id": there.person_id, "name": there.person_name},
        }  # fmt: skip
        return stored, sent_facts(db, record)

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store. What comes after the outcome is kept and does not count, and says so."""
        comparison, coffee, side = place_of(db, record)
        closed = compared.concluded_at(db, comparison.id) is not None
        if not comparison.side(side).open_to(record.person.id):
            raise invalid([("side", service.others(comparison, side))])
        form, over = filled(record, comparison)
        if over:
            raise invalid([(name, _("There is no room for this in the form.")) for name in over])
        taken = service.take(form, db, comparison, coffee, side, now, record.made_at, insist=False)
        if taken.sample is None:
            raise invalid([*(("", text) for text in taken.problems), *form.problems])
        comparisons.add_sample(db, taken.sample, record.who, now, record.sent)
        return [*taken.questions, *([service.concluded()] if closed else [])]

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """What was stored; no number of the other side, which whoever reads must not see."""
        there = comparisons.find_sample(db, record.id)
        return {"comparison_id": there.comparison_id, "coffee": there.coffee_no, "side": there.side}


def place_of(db: Database, record: TabletRecord) -> tuple[Comparison, Coffee, SideName]:
    """What was read, by the form's own word. A comparison is planned on the server: it is there or unknown."""
    number, side = record.form.get("coffee", ""), record.form.get("side", "")
    try:
        comparison = comparisons.get_comparison(db, record.form.get("comparison", ""))
        coffee = comparison.coffee(int(number) if number.isascii() and number.isdigit() else 0)
    except NotFound:
        raise invalid([("comparison", _("This coffee of a comparison is not known here."))]) from None
    if side not in comparisons.SIDES:
        raise invalid([("side", _("It does not say with what it was read."))])
    return comparison, coffee, side


def filled(record: TabletRecord, comparison: Comparison) -> tuple[SampleForm, list[str]]:
    """The form as the tablet filled it, and the fields that the plan has no room for."""
    fields, over = service.with_rows(record.form, comparison)
    return SampleForm(formdata=fields, meta={"csrf": False}), over


def sent_facts(db: Database, record: TabletRecord) -> dict:
    """What was sent, in the words of what is stored."""
    form, over = filled(record, place_of(db, record)[0])
    return {
        "comparison_id": record.form.get("comparison"), "coffee": record.form.get("coffee"),
        "side": record.form.get("side"), "note": form.note.data or "",
        "readings": [
            facts for fill_no, fill in enumerate(form.fills, 1)
            for facts in taking.sent_facts(fill.form.readings, fill_no)
        ] + over,
        "person": {"id": record.person.id, "name": record.person.name},
    }  # fmt: skip
