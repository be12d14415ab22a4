"""A grinder's page: where it stands, its log and its grind checks; and the two forms that add to them."""

from __future__ import annotations

from flask import abort, flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.gear.blueprint import gear
from webapp.gear.grind_chart import charts
from webapp.gear.grinder_forms import GrindCheckForm, LogForm
from webapp.store import gear as store
from webapp.store import grinder_log as log_store
from webapp.store.grinder_log import WHATS, NewCheck
from webapp.store.times import claimed_time, to_text
from webapp.ui import verdict_words
from webapp.ui.access import open_to, who
from webapp.ui.filters import day_of


def page_content(there: store.Grinder) -> dict:
    """What the grinder's page shows of its log and its checks."""
    db = get_db()
    stands = log_store.current_setting(db, there.id)
    changed = log_store.burrs_changed(db, there.settings[0].id, to_text(g.now)) if there.settings else None
    checks = log_store.list_grind_checks(db, there.id)
    return {
        "events": log_store.list_events(db, there.id),
        "stands": next((s.name for s in there.settings if s.id == stands), None),
        "burrs_say": verdict_words.burrs_text(day_of(changed)) if changed else "",
        "checks": checks,
        "charts": charts(checks, [s.id for s in there.settings]),
        "entry_words": entry_words,
        "action_words": action_words(),
    }


def entry_words(what: str, setting: str | None = None) -> str:
    """An entry of the log in words."""
    return {
        "setting": _("Setting moved to %(name)s", name=setting),
        "burrs": _("Burrs changed"),
        "cleaned": _("Cleaned"),
        "aligned": _("Burrs aligned"),
    }[what]


def action_words() -> dict[str, str]:
    """What the buttons and the forms of the log are called."""
    return {
        "setting": _("The setting was moved"),
        "burrs": _("The burrs were changed"),
        "cleaned": _("It was cleaned"),
        "aligned": _("The burrs were aligned"),
    }


@gear.route("/gear/grinders/<uuid:grinder_id>/log", methods=["GET", "POST"])
@open_to("roaster")
def grinder_log(grinder_id):
    """Add to the log."""
    there = store.get_grinder(get_db(), str(grinder_id))
    what = request.values.get("what", "setting")
    if what not in WHATS:
        abort(404)
    form = LogForm().of_kind(what).of(there)
    if request.method == "POST":
        form.validate()
        form.refuse_retired()
        if not form.errors:
            made_at = claimed_time(form.made_at.data, g.now)
            log_store.add_event(
                get_db(), form.id.data, there.id, what, form.setting_id, form.note.data, who(), g.now, made_at=made_at
            )
            flash(_("It is in the log."))
            return redirect(url_for("gear.grinder", grinder_id=there.id), code=303)
    shown = {"form": form, "grinder": there, "what": what, "title": action_words()[what]}
    return render_template("gear/grinder_log.html", **shown), 422 if form.errors else 200


@gear.route("/gear/grinders/<uuid:grinder_id>/grind-check", methods=["GET", "POST"])
@open_to("roaster")
def grind_check(grinder_id):
    """Record how much of a ground sample passes a sieve."""
    there = store.get_grinder(get_db(), str(grinder_id))
    form = GrindCheckForm(setting=log_store.current_setting(get_db(), there.id)).of(there)
    if request.method == "POST":
        form.validate()
        form.refuse_retired()
        if not form.errors:
            made_at = claimed_time(form.made_at.data, g.now)
            log_store.add_grind_check(get_db(), check_from(form, form.id.data, made_at), who(), g.now)
            flash(_("The grind check is stored."))
            return redirect(url_for("gear.grinder", grinder_id=there.id, _anchor="checks"), code=303)
    return render_template("gear/grind_check.html", form=form, grinder=there), 422 if form.errors else 200


def check_from(form: GrindCheckForm, check_id: str, made_at: str) -> NewCheck:
    """What a checked form says."""
    return NewCheck(
        check_id, form.there.id, form.setting.data, form.coffee.data, form.sieve.data, form.total.data,
        form.passing.data, form.note.data, made_at,
    )  # fmt: skip
