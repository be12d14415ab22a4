"""What the bench listens for in its trends: one choice for all products, and what it costs in false alarms."""

from __future__ import annotations

from dataclasses import dataclass

from flask import flash, g, redirect, render_template, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.measure.advice import false_alarm
from webapp.measure.rules import RUN_LENGTHS, SHIFT_LENGTHS
from webapp.store import trend_rules as store
from webapp.store.connect import write
from webapp.store.trend_rules import Rules
from webapp.trends import limit_words
from webapp.trends.blueprint import trends
from webapp.trends.forms import RulesForm
from webapp.ui.access import open_to, who


@dataclass(frozen=True)
class Cost:
    """A line of the table: rules that are on, and once in how many batches they are wrong, without the running mean and
    with it; found: how many batches it takes to see a shift by one sigma, without the running mean."""

    rules: tuple[int, ...]
    alone: str
    with_average: str
    found: str


def costs() -> list[Cost]:
    """Every choice there is."""
    once = limit_words.once_in
    return [
        Cost(rules, once(false_alarm(rules, False)), once(false_alarm(rules, True)), once(SHIFT_LENGTHS[rules]))
        for rules in RUN_LENGTHS
    ]


def newest(history: list[store.Chosen]) -> str:
    """What a form must have seen: the newest choice, by when it was made."""
    return history[0].made_at if history else ""


def check(form: RulesForm, current: Rules, history: list[store.Chosen]) -> bool:
    """Whether it is a change, and of what the page showed."""
    form.validate()
    if not form.errors and form.seen.data != newest(history):
        form.reason.errors = [
            _("%(name)s chose otherwise meanwhile. What is on now stands above. Look at it, then store.",
              name=history[0].person_name)
        ]  # fmt: skip
        form.seen.data = newest(history)
    elif not form.errors and form.rules() == Rules(current.rules, current.average):
        form.reason.errors = [_("Nothing was changed: the same is on already.")]
    return not form.errors


def show(form: RulesForm, current: Rules, history: list[store.Chosen]):
    """The page."""
    return render_template(
        "trends/rules.html", form=form, current=Rules(current.rules, current.average), history=history, costs=costs(),
        rules_text=limit_words.rules_text, once=limit_words.once_in(false_alarm(current.rules, current.average)),
        chosen=form.rules(),
    )  # fmt: skip


@trends.get("/trends/rules")
@open_to("lead")
def rules():
    """What is listened for, what each rule catches and costs."""
    current, history = store.current(get_db()), store.list_choices(get_db())
    form = RulesForm(data={f"rule_{no}": no in current.rules for no in (2, 3, 4)} | {"average": current.average})
    form.seen.data = newest(history)
    return show(form, current, history)


@trends.post("/trends/rules")
@open_to("lead", confirmed=True)
def choose_rules():
    """Store the choice, or say what keeps it from being stored."""
    db, form = get_db(), RulesForm()
    with write(db):
        current, history = store.current(db), store.list_choices(db)
        sent = store.is_chosen(db, form.id.data, form.rules(), form.reason.data or "")
        if not sent and check(form, current, history):
            store.add_choice(db, form.id.data, form.rules(), form.reason.data, who(), g.now)
    if form.errors:
        return show(form, current, history), 422
    flash(_("It is stored. Every trend is judged by it from now on."))
    return redirect(url_for("trends.rules"), code=303)
