"""A signal by itself: what fired, what the logs show, what was found and what was done."""

from __future__ import annotations

from dataclasses import dataclass

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.store import batches, products
from webapp.store import signal_notes as store
from webapp.store.batches import Batch
from webapp.store.connect import write
from webapp.store.errors import NotFound
from webapp.store.products import Product
from webapp.store.signal_notes import NewNote, Note, Side
from webapp.store.trends import ALL, Kind
from webapp.trends import filters, limit_words, page, run, words
from webapp.trends.blueprint import trends
from webapp.trends.forms import NoteForm
from webapp.trends.run import Looked, Signalled
from webapp.ui.access import open_to, who
from webapp.ui.cause_words import cause_words, note_words

PATH = (
    "/trends/<uuid:product_id>/<any(whole, ground, difference):kind>/signals/<uuid:batch_id>"
    "/<any(lighter, darker):toward>"
)  # fmt: skip


@dataclass(frozen=True)
class Place:
    """What the page is about. fired: all that fires at the batch to that side among the batches looked at, the first
    one first; notes: all on it, oldest first; args: what narrows the batches, as it stands in the address; opened:
    the rule that fired when a form was opened that comes back now, None without one."""

    product: Product
    kind: Kind
    batch: Batch
    side: Side
    it: Looked
    fired: tuple[Signalled, ...]
    notes: tuple[Note, ...]
    args: dict[str, str]
    opened: int | None

    @property
    def rule(self) -> int | None:
        """What a note is about: what fires first, else what did when it was noted first, or when the form was opened;
        None: nothing ever did."""
        return self.fired[0].rule if self.fired else self.notes[0].rule if self.notes else self.opened

    @property
    def newest(self) -> str:
        """The newest note's id, or ''."""
        return self.notes[-1].id if self.notes else ""

    def url(self, endpoint: str) -> str:
        """The address of this signal."""
        return url_for(
            endpoint, product_id=self.product.id, kind=self.kind, batch_id=self.batch.id, toward=self.side, **self.args
        )


def find(product_id: str, kind: Kind, batch_id: str, side: Side, opened: str = "") -> Place:
    """NotFound where the batch is not one of the product's, or nothing ever fired there."""
    db = get_db()
    there, batch = products.get_product(db, product_id), batches.get_batch(db, batch_id)
    if batch.product_id != there.id:
        raise NotFound(batch_id)
    asked = filters.read(request.args, g.site.time_zone)
    it = run.look_at(db, there.id, kind, ALL if asked.problems else asked.wanted, asked.most)
    at = next((no for no, point in enumerate(it.trend.points) if point.batch_id == batch.id), -1)
    fired = [one for one in it.signals if one.side == side and one.point == at]
    # Others that go over this batch are about the same thing, and so are their notes.
    spans = [range(one.since, one.until + 1) for one in fired] or [range(0)]
    about = {it.trend.points[no].batch_id for span in spans for no in span} | {batch.id}
    notes = [n for n in store.list_notes(db, there.id, kind) if n.side == side and n.batch_id in about]
    fired.sort(key=lambda one: (one.rule == 0, one.rule))
    first = int(opened) if opened in tuple("01234") else None
    place = Place(there, kind, batch, side, it, tuple(fired), tuple(notes), asked.args, first)
    if place.rule is None:
        raise NotFound(batch_id)
    return place


def show(place: Place, form: NoteForm):
    """The page; with the form for whoever may write."""
    it = place.it
    point = next((p for p in it.trend.points if p.batch_id == place.batch.id), None)
    near = dict.fromkeys(page.near(event) for one in place.fired for event in one.near)
    last = place.fired[0].until if place.fired else None
    return render_template(
        "trends/signal.html", place=place, product=place.product, kind=place.kind, form=form, near=near,
        sentences=[(str(one.rule or "~"), words.signal_words(one)) for one in place.fired]
        or [(str(place.rule or "~"), words.rule_words(place.rule, place.side == "lighter"))],
        value=page.shown(it, point.value) if point else "", limits=limit_words.limits_text(it.limits, it.way, it.scale),
        judged=limit_words.judged_words(it), stands=bool(it.standing and it.standing in place.fired),
        until=it.trend.points[last] if last is not None and last != place.fired[0].point else None,
        state=note_words(place.notes[-1]) if place.notes else "", cause_words=cause_words,
    )  # fmt: skip


@trends.get(PATH)
@open_to("trainee")
def signal(product_id, kind: Kind, batch_id, toward: Side):
    """What fired, what the logs show near it, and what was said of it."""
    place = find(str(product_id), kind, str(batch_id), toward)
    form = NoteForm(data={"cause": place.notes[-1].cause if place.notes else "", "seen": place.newest})
    form.rule.data = str(place.rule)
    return show(place, form)


@trends.post(PATH)
@open_to("roaster")
def note(product_id, kind: Kind, batch_id, toward: Side):
    """Store what was found and done."""
    db, form = get_db(), NoteForm()
    with write(db):
        # Even if nothing fires any more by now: what was typed is about what did.
        place = find(str(product_id), kind, str(batch_id), toward, form.rule.data or "")
        form.validate()
        sent = any(one.id == form.id.data for one in place.notes)
        if not form.errors and not sent and form.seen.data != place.newest:
            form.note.errors = [
                _("%(name)s wrote about it meanwhile. Read it first, then store yours.",
                  name=place.notes[-1].person_name)
            ]  # fmt: skip
            form.seen.data = place.newest
        if not form.errors:
            new = NewNote(
                form.id.data, place.product.id, kind, place.batch.id, place.rule, toward, form.cause.data,
                form.note.data or "", form.done.data or "", form.closed.data,
            )  # fmt: skip
            store.add_note(db, new, who(), g.now)
    if form.errors:
        return show(place, form), 422
    flash(_("It is closed.") if form.closed.data else _("It is stored."))
    return redirect(place.url("trends.signal"), code=303)
