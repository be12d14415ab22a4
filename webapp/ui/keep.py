"""The PIN page, and what was typed before it: a form sent without a live session is carried through, never lost."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlsplit

from flask import current_app, g, render_template, request, url_for
from flask_babel import lazy_gettext as _l
from werkzeug.exceptions import HTTPException
from wtforms import PasswordField, RadioField, SelectChoice
from wtforms.validators import Regexp

from webapp.db import get_db
from webapp.store.people import list_people
from webapp.ui.forms import BaseForm, required

STEPS = ("people.setup", "people.enrol", "people.sign_in", "people.confirm", "people.lock")


@dataclass(frozen=True)
class Kept:
    """A form on hold: where it was sent, and its fields in their order."""

    path: str
    fields: tuple[tuple[str, str], ...]


def pin_field() -> PasswordField:
    """Six digits. Letters are refused before anything is counted as a wrong PIN."""
    shape = Regexp(r"\A[0-9]{6}\Z", message=_l("A PIN has six digits."))
    return PasswordField(_l("PIN"), validators=[required(_l("Type your PIN.")), shape])


class ConfirmForm(BaseForm):
    """The PIN of whoever is signed in."""

    pin = pin_field()


class SignInForm(BaseForm):
    """Who, and their PIN."""

    person = RadioField(
        _l("Who is at the tablet?"),
        validators=[required(_l("Choose who you are."))],
        invalid_choice_message=_l("This person does not work here any more. Choose who you are."),
    )
    pin = pin_field()


def sign_in_form(**kwargs) -> SignInForm:
    """The form with everybody who works here; one person alone is chosen already."""
    form = SignInForm(**kwargs)
    people = list_people(get_db())
    form.person.choices = [SelectChoice(p.id, p.name) for p in people]
    if len(people) == 1 and not form.person.data:
        form.person.data = people[0].id
    return form


def is_secret(name: str) -> bool:
    """PINs are never carried along: they would stand in the page's text."""
    return name in ("pin", "csrf_token") or name.startswith("pin_")


def takes_posts(path: str) -> bool:
    """Whether `path` is a path of this app that takes a form, and not one of the steps to sign in."""
    if not path.startswith("/") or not plain(path):
        return False
    try:
        endpoint, _values = current_app.create_url_adapter(request).match(urlsplit(path).path, method="POST")
    except HTTPException:
        return False
    return endpoint not in STEPS


def plain(path: str) -> bool:
    """No second slash, backslash or control character, which browsers may read as the start of a host."""
    return not path.startswith("//") and "\\" not in path and all(32 < ord(c) != 127 for c in path)


def way_on(target: str | None) -> str:
    """Where to go after the PIN: `target` if it is a path of this app and not a step to sign in."""
    from webapp.ui.access import safe_next

    path = safe_next(target)
    steps = {url_for(step) for step in STEPS}
    return path if plain(path) and urlsplit(path).path not in steps else url_for("strip.today")


def read_kept() -> Kept | None:
    """The form on hold that came with this PIN, if there is one and it can be sent on."""
    path = request.form.get("kept_path", "")
    if not takes_posts(path):
        return None
    pairs = zip(request.form.getlist("kept_name"), request.form.getlist("kept_value"), strict=False)
    return Kept(path, tuple(pair for pair in pairs if not is_secret(pair[0])))


def pin_page_for_post(step: str, path: str, kept: list[tuple[str, str]]):
    """The PIN page in answer to a form that cannot be stored yet. `step`: "sign_in" or "confirm"."""
    on_hold = Kept(path, tuple((k, v) for k, v in kept if not is_secret(k))) if takes_posts(path) else None
    form = sign_in_form(formdata=None) if step == "sign_in" else ConfirmForm(formdata=None)
    return pin_page(step, form, on_hold), 403


def pin_page(step: str, form: BaseForm, kept: Kept | None, wait: int = 0) -> str:
    """The page of a step: `sign_in` asks who and PIN, `confirm` the PIN alone. `wait`: seconds until the next try."""
    people = {p.id: p for p in list_people(get_db())}
    return render_template(
        f"people/{step}.html", form=form, kept=kept, wait=wait, people=people, next=way_on(request.values.get("next"))
    )


def welcome_back(kept: Kept, step: str) -> str:
    """After the right PIN: the form that was on hold, one press from being sent."""
    return render_template("people/welcome_back.html", kept=kept, step=step, name=g.session.name)
