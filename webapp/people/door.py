"""In and out: sign in, confirm, lock."""

from __future__ import annotations

from flask import Response, g, make_response, redirect, request, url_for

from webapp.db import get_db
from webapp.people.blueprint import people
from webapp.people.cookies import end_person_cookie, set_person_cookie
from webapp.people.words import pin_refused
from webapp.store import sessions
from webapp.store.people import get_person
from webapp.store.pin_guard import PinOutcome, check_pin
from webapp.ui.access import open_to
from webapp.ui.keep import ConfirmForm, Kept, pin_page, read_kept, sign_in_form, way_on, welcome_back


@people.route("/sign-in", methods=["GET", "POST"])
@open_to("tablet")
def sign_in():
    """Choose who you are and type your PIN; a form on hold comes along."""
    form, kept = sign_in_form(), read_kept()
    if not form.validate_on_submit():
        return pin_page("sign_in", form, kept)
    person = get_person(get_db(), form.person.data)
    outcome = check_pin(get_db(), person.id, g.tablet.id, form.pin.data, g.now)
    if not outcome.ok:
        return refuse("sign_in", form, kept, outcome, person.name)
    token = sessions.start_session(get_db(), person.id, g.tablet.id, g.site.shift_hours, g.now)
    g.session = sessions.find_session(get_db(), token, g.tablet.id, g.now)
    return set_person_cookie(go_on(kept, "sign_in"), token)


@people.route("/confirm", methods=["GET", "POST"])
@open_to("tablet")
def confirm():
    """The PIN again before a lead's change. Without a session it is a sign-in."""
    kept = read_kept()
    if g.session is None:
        return pin_page("sign_in", sign_in_form(formdata=None), kept)
    form = ConfirmForm()
    if not form.validate_on_submit():
        return pin_page("confirm", form, kept)
    outcome = check_pin(get_db(), g.session.person_id, g.tablet.id, form.pin.data, g.now)
    if not outcome.ok:
        return refuse("confirm", form, kept, outcome, g.session.name)
    sessions.confirm_session(get_db(), g.session.token_hash, g.now)
    return go_on(kept, "confirm")


def refuse(step: str, form, kept: Kept | None, outcome: PinOutcome, name: str) -> Response:
    """The same page again, with the reason; 429 while there is a wait."""
    form.pin.errors = [*form.pin.errors, pin_refused(outcome, name)]
    response = make_response(pin_page(step, form, kept, outcome.wait_seconds))
    if outcome.wait_seconds:
        response.status_code = 429
        response.headers["Retry-After"] = str(outcome.wait_seconds)
    return response


def go_on(kept: Kept | None, step: str) -> Response:
    """To the page that was asked for, or back to the form on hold."""
    if kept is not None:
        return make_response(welcome_back(kept, step))
    return redirect(way_on(request.form.get("next")), code=303)


@people.post("/lock")
@open_to("tablet")
def lock():
    """End the session here and on the server; what the tablet keeps for itself (drafts) stays."""
    if g.session is not None:
        sessions.end_session(get_db(), g.session.token_hash, g.now)
    return end_person_cookie(redirect(url_for("people.sign_in", next=way_on(request.form.get("next"))), code=303))


@people.record_once
def lock_without_token(state) -> None:
    """A tablet locks even when its page is from before a restart with another key. All a token would keep off is
    being locked by another site's page, and the cookies' SameSite does that."""
    state.app.extensions["csrf"].exempt(lock)


@people.post("/stay")
@open_to("tablet")
def stay():
    """Somebody is typing without sending: finding the session has kept it from going idle. 401 when it has ended."""
    return ("", 204) if g.session is not None else ("", 401)
