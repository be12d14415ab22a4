"""Who may see what. Every view carries its mark; a view without one is closed to everybody."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlsplit

from flask import Flask, current_app, g, redirect, render_template, request, url_for

from webapp.db import get_db
from webapp.store import sessions, times
from webapp.store.site import get_site
from webapp.ui import as_json, programs, uploads
from webapp.ui.keep import pin_page_for_post

# anyone: before enrolment; tablet: enrolled, nobody signed in; then the roles, each including those before it.
LEVELS = ("anyone", "tablet", "trainee", "roaster", "lead")
# Not one of them: a key of its own opens it, and no person does (programs.py).
PROGRAM = "program"


def open_to(level: str, *, confirmed: bool = False, quiet: bool = False, most_bytes: int | None = None) -> Callable:
    """Mark a view with the least role it needs; `confirmed` asks for the PIN again (within ten minutes).

    `quiet`: a tablet asks for it by itself, which is no sign that somebody is there: the session may go idle.
    `most_bytes`: it takes a file, and so more than other forms.
    """
    if level not in (*LEVELS, PROGRAM):
        raise ValueError(level)

    def mark(view: Callable) -> Callable:
        view.open_to, view.confirmed, view.quiet, view.most_bytes = level, confirmed, quiet, most_bytes
        return view

    return mark


def cookie_name(what: str) -> str:
    """`tablet` or `person`, with the prefix that ties a cookie to HTTPS and this host where that is possible."""
    return f"__Host-{what}" if current_app.config["SECURE_COOKIES"] else what


def set_cookie(response, what: str, value: str, days: int) -> None:
    """HttpOnly, same site, whole path."""
    response.set_cookie(
        cookie_name(what),
        value,
        max_age=days * 86400,
        httponly=True,
        samesite="Lax",
        secure=current_app.config["SECURE_COOKIES"],
    )


def at_least(level: str) -> bool:
    """Whether whoever is at the tablet has this role or a higher one."""
    have = g.session.role if g.session else ("tablet" if g.tablet else "anyone")
    return LEVELS.index(have) >= LEVELS.index(level)


def who():
    """The signed-in person and tablet, for the store's writing functions."""
    return g.session.who


def load(level: str) -> None:
    """Find tablet, person and site for this request; of a program's, the site alone."""
    db = get_db()
    g.site = get_site(db)
    if level == PROGRAM:
        return
    if secret := request.cookies.get(cookie_name("tablet")):
        g.tablet = sessions.find_tablet(db, secret)
    if g.tablet and (token := request.cookies.get(cookie_name("person"))):
        # What a tablet asks for by itself, or a strip (has anything changed?), is no sign that somebody is there.
        quiet = getattr(current_app.view_functions.get(request.endpoint), "quiet", False)
        touch = not quiet and "If-None-Match" not in request.headers
        g.session = sessions.find_session(db, token, g.tablet.id, g.now, touch=touch)


def guard():
    """Let the request through, send it to the step that is missing, or refuse it."""
    g.now = times.now()
    g.tablet = g.session = g.site = None
    view = current_app.view_functions.get(request.endpoint) if request.endpoint else None
    if view is None:
        return None
    level = getattr(view, "open_to", None)
    if level is None:
        raise RuntimeError(f"{request.endpoint} does not say who may open it")
    if request.endpoint != "static":
        load(level)
    if level == PROGRAM:
        return programs.refusal()
    missing = what_is_missing(level, view.confirmed)
    if missing is None:
        return uploads.let_in(view.most_bytes) if getattr(view, "most_bytes", None) else None
    return as_json.refusal(*JSON_REFUSALS[missing]) if as_json.wanted() else page_for(missing, level)


def what_is_missing(level: str, confirmed: bool) -> str | None:
    """The first thing that stands between this request and a view of this level; None: nothing."""
    if level == "anyone":
        return None
    if g.site is None:
        return "site"
    if g.tablet is None:
        return "tablet"
    if level == "tablet":
        return None
    if g.session is None:
        return "session"
    if not at_least(level):
        return "role"
    return "pin" if confirmed and not g.session.confirmed else None


JSON_REFUSALS = {
    "site": (403, "not_enrolled"), "tablet": (403, "not_enrolled"), "session": (401, "sign_in"),
    "role": (403, "role"), "pin": (403, "confirm"),
}  # fmt: skip


def page_for(missing: str, level: str):
    """The step or the page that says what is missing."""
    match missing:
        case "site":
            return redirect(url_for("people.setup"), code=303)
        case "tablet":
            return render_template("people/not_enrolled.html"), 403
        case "role":
            return render_template("errors/not_yours.html", level=level), 403
        case _:
            return ask_for_pin("sign_in" if missing == "session" else "confirm")


def ask_for_pin(step: str):
    """Go to the PIN page. A form sent meanwhile is carried along, so that nothing typed is lost."""
    view = current_app.view_functions.get(request.endpoint)
    # A file is not carried along: its form is opened anew.
    if request.method == "POST" and not getattr(view, "most_bytes", None):
        kept = [(k, v) for k in request.form for v in request.form.getlist(k) if k != "csrf_token"]
        return pin_page_for_post(step, request.full_path.rstrip("?"), kept)
    return redirect(url_for(f"people.{step}", next=request.full_path.rstrip("?")), code=303)


def safe_next(target: str | None) -> str:
    """`target` if it is a path of this app, else the day strip: no redirect leads to another site."""
    parts = urlsplit(target or "")
    elsewhere = parts.scheme or parts.netloc or (target or "").startswith(("//", "/\\"))
    if not target or not target.isprintable() or not target.startswith("/") or elsewhere:
        return url_for("strip.today")
    return target


class Globals(Flask.app_ctx_globals_class):
    """Until a request was looked at, nobody is there: an error page may be needed before that."""

    session = tablet = site = None


def init_app(app: Flask) -> None:
    """Guard every request, and let templates ask."""
    app.app_ctx_globals_class = Globals
    app.before_request(guard)
    app.jinja_env.globals["at_least"] = at_least
