"""Limits that a lead freezes for a product and kind, what that would do, and giving them up."""

from __future__ import annotations

from dataclasses import dataclass

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.db import get_db
from webapp.store import baselines, products
from webapp.store.baselines import Baseline, NewBaseline, Place
from webapp.store.connect import write
from webapp.store.errors import AlreadyThere
from webapp.store.products import Product
from webapp.store.trends import ALL, Kind
from webapp.trends import baseline_find, filters, limit_words, run, words
from webapp.trends.baseline_find import Stretch
from webapp.trends.blueprint import trends
from webapp.trends.forms import FreezeForm, GiveUpForm
from webapp.trends.run import Looked, Signalled
from webapp.ui.access import open_to, who

PATH = "/trends/<uuid:product_id>/<any(whole, ground, difference):kind>/baseline"


@dataclass(frozen=True)
class Freezing:
    """The page. now: the limits that are frozen, None without any; chosen: the stretch that is looked at; problem: what
    is wrong with the choice; first, last: batch ids in the form; before, after: limits in words; within, since: (what,
    where) of what fires by the new limits in the stretch and after it."""

    it: Looked
    now: Baseline | None
    chosen: Stretch | None
    problem: str
    first: str
    last: str
    before: str
    after: str
    within: tuple[tuple[str, str], ...]
    since: tuple[tuple[str, str], ...]

    @property
    def seen(self) -> str:
        """What a form must have seen for its answer to count: which limits there are, and the stretch's own."""
        frozen = self.chosen.frozen(self.it.way) if self.chosen else None
        stretch = (frozen.batches, frozen.centre.hex(), frozen.sigma.hex()) if frozen else ()
        return " ".join(map(str, (self.now.id if self.now else "none", *stretch)))


def look(db: Database, product_id: str, kind: Kind, first: str, last: str) -> Freezing:
    """The newest batches, and the stretch that was chosen; none chosen: the one that is proposed."""
    it = run.look_at(db, product_id, kind, ALL, filters.USUAL)
    place = {point.batch_id: no for no, point in enumerate(it.trend.points)}
    ends = (place.get(first), place.get(last)) if first or last else baseline_find.proposed(it) if place else None
    chosen, problem = None, ""
    if ends and None in ends:
        problem = _("Choose the first and the last batch from the list.")
    elif ends and ends[0] > ends[1]:
        problem = _("The last batch was roasted before the first one.")
    elif ends:
        chosen = baseline_find.stretch(it, *ends)
        problem = "" if chosen else _("Limits need at least 20 batches that count. Choose a longer stretch.")
    if ends and None not in ends:
        first, last = (it.trend.points[no].batch_id for no in ends)
    return Freezing(
        it, it.baseline or it.passed, chosen, problem, first, last,
        limit_words.limits_text(it.limits, it.way, it.scale) if it.scale else "",
        limit_words.limits_text(chosen.limits, it.way, it.scale) if chosen else "",
        told(it, chosen.within) if chosen else (), told(it, chosen.since) if chosen else (),
    )  # fmt: skip


def told(it: Looked, signals: tuple[Signalled, ...]) -> tuple[tuple[str, str], ...]:
    """What fires and where, in words."""
    points = it.trend.points
    return tuple(
        (words.signal_words(one), f"{words.day_of_time(points[one.point].roasted_at)}, {points[one.point].code}")
        for one in signals
    )


def show(there: Product, kind: Kind, page: Freezing, form: FreezeForm):
    """The page with its form."""
    return render_template(
        "trends/baseline.html", product=there, kind=kind, page=page, form=form,
        history=baselines.list_baselines(get_db(), there.id, kind), frozen=limit_words.frozen_words,
    )  # fmt: skip


@trends.get(PATH)
@open_to("lead")
def baseline(product_id, kind: Kind):
    """What is frozen, what could be, and what that would do."""
    there = products.get_product(get_db(), str(product_id))
    page = look(get_db(), there.id, kind, request.args.get("first", ""), request.args.get("last", ""))
    form = FreezeForm()
    form.first.data, form.last.data, form.seen.data = page.first, page.last, page.seen
    return show(there, kind, page, form), 400 if page.problem else 200


@trends.post(PATH)
@open_to("lead", confirmed=True)
def freeze(product_id, kind: Kind):
    """Freeze the limits of the stretch that was looked at."""
    db, form = get_db(), FreezeForm()
    there = products.get_product(db, str(product_id))
    # In one transaction: what is looked at is what is frozen.
    with write(db):
        page = look(db, there.id, kind, form.first.data or "", form.last.data or "")
        if not sent_before(form, there, kind) and check(form, page):
            trend = page.it.trend
            place = Place(there.id, kind, trend.scale_id, trend.method_version_id)
            new = NewBaseline(form.id.data, place, page.chosen.frozen(page.it.way), form.reason.data)
            baselines.add_baseline(db, new, who(), g.now)
    if form.errors:
        return show(there, kind, page, form), 422
    flash(_("The limits are frozen. From now on new batches are judged by them."))
    return redirect(url_for("trends.baseline", product_id=there.id, kind=kind), code=303)


def sent_before(form: FreezeForm | GiveUpForm, there: Product, kind: Kind) -> bool:
    """Whether this form is stored: sent twice, it is one record. AlreadyThere: it is, with another reason."""
    found = next((one for one in baselines.list_baselines(get_db(), there.id, kind) if one.id == form.id.data), None)
    if found and found.reason != form.reason.data:
        raise AlreadyThere(found.id)
    return found is not None


def check(form: FreezeForm, page: Freezing) -> bool:
    """Whether it can be frozen; what keeps it from that stands beside the reason."""
    form.validate()
    if page.chosen is None:
        form.reason.errors = [*form.reason.errors, page.problem or _("There is nothing to freeze here.")]
    elif form.seen.data != page.seen:
        changed = _("These batches or their limits changed meanwhile. Look at them again, then freeze.")
        form.reason.errors = [*form.reason.errors, changed]
    form.seen.data = page.seen
    return not form.errors


@trends.route(f"{PATH}/give-up", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def give_up(product_id, kind: Kind):
    """Give the frozen limits up."""
    db, form = get_db(), GiveUpForm()
    there = products.get_product(db, str(product_id))
    if request.method == "POST":
        # In one transaction: what was looked at is what is given up.
        with write(db):
            given_up(form, there, kind)
    now = look(db, there.id, kind, "", "").now
    if now is None or (request.method == "POST" and not form.errors):
        return redirect(url_for("trends.baseline", product_id=there.id, kind=kind), code=303)
    form.seen.data = now.id
    said = limit_words.frozen_words(now)
    page = render_template("trends/give_up.html", product=there, kind=kind, form=form, said=said)
    return page, 422 if form.errors else 200


def given_up(form: GiveUpForm, there: Product, kind: Kind) -> None:
    """Store it, or leave beside the reason what keeps it from being stored."""
    db = get_db()
    now = look(db, there.id, kind, "", "").now
    if not sent_before(form, there, kind) and form.validate():
        if now is None or form.seen.data != now.id:
            form.reason.errors = [_("Somebody changed the limits meanwhile. Look at them again.")]
            return
        baselines.add_baseline(db, NewBaseline(form.id.data, now.place, None, form.reason.data), who(), g.now)
    if not form.errors:
        flash(_("The limits are given up. The batches shown have limits of their own again."))
