"""Taking one fill of a precision study from its form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from flask_babel import gettext as _
from flask_babel import ngettext
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict

from webapp.store import precision, spreads
from webapp.store.precision import NewFill, Place, Study
from webapp.store.times import claimed_time
from webapp.studies import taking
from webapp.studies.precision_forms import StudyFillForm


def with_rows(posted: Mapping[str, str], study: Study) -> tuple[MultiDict, list[str]]:
    """The posted fields with every row that a fill has room for, and the names of those it has no room for."""
    return taking.with_rows(posted, "readings", [f"readings-{row}" for row in range(study.rows)])


@dataclass
class Taken(taking.Rows):
    """A filled form looked through: the fill if it can be stored, and what is wrong with the form as a whole."""

    problems: list[str] = field(default_factory=list)
    fill: NewFill | None = None


def take(
    form: StudyFillForm, db: Database, study: Study, place: Place, now: datetime, made_at: str | None = None, *,
    insist: bool = True,
) -> Taken:  # fmt: skip
    """The fill from its form. `made_at`: when it was read (None: as the form says); `insist`: see taking.take_fill.

    Readings that disagree ask for no further one, as they do at the bench: a study that reads on where the spread is
    wide measures another spread than the one it is for.
    """
    scale, taken, fine = study.scale, Taken(), form.validate()
    span = (scale.upper - scale.lower) / 100
    sigma_r = spreads.sigmas_for(db, study.method.id, scale.id, study.kind, span).sigma_r
    fine &= taking.take_fill(form.readings, 1, scale, sigma_r, taken, insist)
    if fine:
        taken.problems += enough(form, study, taken)
    if fine and not taken.problems:
        at = made_at or claimed_time(form.made_at.data, now)
        taken.fill = NewFill(form.id.data, study.id, place.no, form.note.data or "", at, tuple(taken.readings))
    return taken


def enough(form: StudyFillForm, study: Study, taken: Taken) -> list[str]:
    """What is still missing of the readings of the plan."""
    counted = sum(not reading.void_reason for reading in taken.readings)
    if not counted:
        return [_("Type at least one reading that counts.")]
    if form.as_is.data or counted >= study.readings:
        return []
    return [
        ngettext(
            "This fill has %(num)d reading, the study asks for %(planned)d. Read on, or tick that you store it as it"
            " is.",
            "This fill has %(num)d readings, the study asks for %(planned)d. Read on, or tick that you store it as it"
            " is.",
            counted, planned=study.readings,
        )
    ]  # fmt: skip


def not_yours(place: Place) -> str:
    """What is said to somebody else's readings."""
    return _(
        "This is a fill of %(name)s, and only they can read it: the study compares hands. Change person first.",
        name=place.preparer_name,
    )


def settled() -> str:
    """What is said to readings that come after the outcome."""
    return _("This study is closed: nothing further counts.")


def second(db: Database, study: Study, place: Place) -> str | None:
    """What is said to a fill of a place that is read already; None while it is not."""
    if place.no not in precision.counted_fills(db, study.id):
        return None
    return _("This fill had been read before. The first counts; this one is kept beside it.")
