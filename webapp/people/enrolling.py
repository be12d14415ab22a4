"""From an empty bench to an enrolled tablet: the set-up page, which closes itself, and the enrolment page."""

from __future__ import annotations

from flask import abort, g, make_response, redirect, render_template, request, url_for

from webapp.db import get_db
from webapp.people import service
from webapp.people.blueprint import people
from webapp.people.cookies import set_person_cookie, set_tablet_cookie
from webapp.people.forms import CodeForm, SetupForm
from webapp.people.words import code_refused
from webapp.people.zones import all_zones, guess_zone
from webapp.store import codes
from webapp.store.people import anybody
from webapp.store.pin_guard import PinOutcome
from webapp.ui.access import open_to


@people.route("/setup", methods=["GET", "POST"])
@open_to("anyone")
def setup():
    """The first lead, the site and this tablet. There is no such page once there is a person."""
    if anybody(get_db()):
        abort(404)
    form = SetupForm() if request.method == "POST" else SetupForm(time_zone=guess_zone())
    fields_fit = form.validate_on_submit()
    code_fits, status = code_is_good(form, "setup")
    if not (fields_fit and code_fits):
        return render_template("people/setup.html", form=form, zones=all_zones()), status
    try:
        started = service.set_up(
            get_db(), form.code.data, form.site_name.data, form.time_zone.data,
            form.name.data, form.pin.data, form.tablet_name.data, g.now,
        )  # fmt: skip
    except service.Closed:
        abort(404)
    response = redirect(url_for("people.settings"), code=303)
    return set_tablet_cookie(set_person_cookie(response, started.session_token), started.tablet_secret)


@people.route("/enrol", methods=["GET", "POST"])
@open_to("anyone")
def enrol():
    """Make this browser a tablet of the bench, with a code that a lead has made."""
    if g.site is None:
        return redirect(url_for("people.setup"), code=303)
    form = CodeForm()
    if g.tablet is not None:
        return render_template("people/enrolled.html")
    fields_fit = form.validate_on_submit()
    code_fits, status = code_is_good(form, "enrol")
    if not (fields_fit and code_fits):
        return render_template("people/enrol.html", form=form), status
    try:
        secret = service.enrol(get_db(), form.code.data, form.tablet_name.data, g.now)
    except service.Closed:
        form.code.errors = [code_refused(PinOutcome(False))]
        return render_template("people/enrol.html", form=form)
    return set_tablet_cookie(make_response(redirect(url_for("people.sign_in"), code=303)), secret)


def code_is_good(form: CodeForm, purpose: str) -> tuple[bool, int]:
    """(whether the code that was sent is good, the page's status if it is not). Says why beside the field."""
    if not form.is_submitted() or form.code.errors:
        return False, 200
    outcome = codes.try_code(get_db(), purpose, form.code.data, g.now)
    if not outcome.ok:
        form.code.errors = [code_refused(outcome)]
    return outcome.ok, 429 if outcome.wait_seconds else 200
