"""What a lead does for tablets: make a code, see which there are, revoke one."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.people.blueprint import people
from webapp.people.words import wait_words
from webapp.store import codes, pin_guard, sessions
from webapp.store.people import last_seen
from webapp.ui.access import open_to, who


def back_to_list():
    """Where every change ends."""
    return redirect(url_for("people.tablets"), code=303)


@people.get("/tablets")
@open_to("lead")
def tablets():
    """Every tablet, those in use first."""
    found = pin_guard.waiting(get_db(), g.now)
    waits = {s.removeprefix("tablet:"): wait_words(left) for s, left in found.items() if s.startswith("tablet:")}
    return render_template(
        "people/tablets.html", tablets=sessions.all_tablets(get_db()), seen=last_seen(get_db()), waits=waits
    )


@people.post("/tablets/code")
@open_to("lead", confirmed=True)
def new_code():
    """A code that enrols one tablet. It is on this page only: the database has its hash."""
    code = codes.make_code(get_db(), "enrol", who(), g.now)
    minutes = int(codes.GOOD_FOR["enrol"].total_seconds() // 60)
    address = request.host_url.rstrip("/") + url_for("people.enrol")
    return render_template("people/new_code.html", code=code, minutes=minutes, address=address)


@people.post("/tablets/<uuid:tablet_id>/revoke")
@open_to("lead", confirmed=True)
def revoke_tablet(tablet_id):
    """The tablet and every session on it are worth nothing from here on."""
    sessions.revoke_tablet(get_db(), str(tablet_id), who(), g.now)
    flash(_("The tablet is revoked."))
    return back_to_list()


@people.post("/tablets/<uuid:tablet_id>/unlock")
@open_to("lead", confirmed=True)
def unlock_tablet(tablet_id):
    """End the tablet's wait after many wrong PINs."""
    pin_guard.unlock_tablet(get_db(), str(tablet_id), who(), g.now)
    flash(_("The tablet can be used again."))
    return back_to_list()
