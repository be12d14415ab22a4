"""What the bench says of a trainee's samples: which wait for a countersignature, who may give it, and who has."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime

from flask import abort, g, redirect, render_template, request, url_for
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.bench.forms import CountersignForm
from webapp.store import batches, countersigns
from webapp.store.countersigns import Countersignature
from webapp.store.decisions import Decision
from webapp.store.hands import state_of
from webapp.store.times import to_text
from webapp.ui.access import who
from webapp.ui.hands_words import read_by

DECIDED = ("release", "concession", "reject")


@dataclass(frozen=True)
class Hands:
    """`text`: which samples wait ("" for none); `why_not`: why whoever is here cannot countersign them, or "";
    `form`: to countersign with one tap, or None; `signed`: who has countersigned, oldest first."""

    text: str
    why_not: str
    form: CountersignForm | None
    signed: list[Countersignature]


def hands_of(db: Database, batch_id: str, decision: Decision | None) -> Hands:
    """See Hands."""
    waiting, signed = countersigns.waiting_samples(db, batch_id), countersigns.list_countersignatures(db, batch_id)
    if not waiting:
        return Hands("", "", None, signed)
    if decision and decision.what in DECIDED:
        return Hands(_("Not countersigned: %(what)s.", what=read_by(waiting)), "", None, signed)
    text = _("Waits for a countersignature: %(what)s.", what=read_by(waiting))
    own = g.session.person_id in {sample.person_id for sample in waiting}
    if g.session.role == "trainee" or own:
        return Hands(text, nobody_their_own(), None, signed)
    ids = " ".join(sample.id for sample in waiting)
    return Hands(text, "", CountersignForm(formdata=None, id=str(uuid.uuid4()), samples=ids), signed)


def nobody_their_own() -> str:
    """What is said to whoever cannot countersign."""
    return _("A roaster or lead countersigns it, and nobody their own.")


def must_walk(db: Database, person_id: str, role: str, kind: str, at: datetime | str) -> bool:
    """Whether somebody walks every step of a method for this kind: a trainee before the sign-off."""
    moment = at if isinstance(at, str) else to_text(at)
    return role == "trainee" and not state_of(db, person_id, kind, moment).signed


def not_theirs() -> str:
    """What is said to somebody who cannot countersign these samples."""
    return _("You can countersign what a trainee has read of this batch, and not your own samples.")


def chosen(form: CountersignForm) -> list[str]:
    """The samples by their ids, each once."""
    return sorted(set((form.samples.data or "").split()))


def countersign_page(db: Database, batch_id: str):
    """Store what was posted, or say why it cannot be; the page of the route in views.py."""
    batch, form = batches.get_batch(db, batch_id), CountersignForm()
    if form.validate():
        try:
            countersigns.add_countersignature(
                db, form.id.data, batch.id, chosen(form), form.note.data or "", who(), g.now
            )
        except countersigns.NotTheirs:
            form.samples.errors = [not_theirs()]
        else:
            return redirect(url_for("bench.result", batch_id=batch.id), code=303)
    if not request.form:
        abort(400)
    return render_template("bench/not_countersigned.html", form=form, batch=batch), 422
