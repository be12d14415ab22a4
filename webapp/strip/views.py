"""The day strip: today, any day, and the screen on the wall."""

from __future__ import annotations

from datetime import date

from flask import Blueprint, Response, abort, current_app, g, redirect, render_template, request, url_for

from webapp.db import get_db
from webapp.store import look_backs, standings, strip_days, times, waiting
from webapp.strip.geometry import AT_ONCE
from webapp.strip.page import make_page
from webapp.ui.access import open_to

strip = Blueprint("strip", __name__)


@strip.get("/")
@open_to("trainee")
def today():
    """Today at the site; the day is asked for at every request, so the page rolls over at midnight."""
    return show("strip/day.html", this_day())


@strip.get("/days/<day>")
@open_to("trainee")
def day(day: str):
    """Any day."""
    if read_day(day) != day:
        abort(404)
    return show("strip/day.html", day)


@strip.get("/days")
@open_to("trainee")
def find_day():
    """From the date field to the day's own address."""
    asked = read_day(request.args.get("day", ""))
    if asked is None:
        return render_template("strip/no_day.html", typed=request.args.get("day", ""), today=this_day()), 400
    return redirect(url_for("strip.today") if asked == this_day() else url_for("strip.day", day=asked), code=303)


@strip.get("/wall")
@open_to("tablet")
def wall():
    """Today on a screen at three metres. It belongs to nobody: it asks for no PIN and does not lock."""
    g.session = None
    return show("strip/wall.html", this_day(), latest=AT_ONCE)


def show(template: str, day: str, latest: int | None = None) -> Response:
    """The day's page, or 304 where nothing was written since the page that the browser has."""
    tag = f"{day}-{strip_days.version(get_db())}-{current_app.static_url_path.rsplit('/')[-1]}"
    if request.if_none_match.contains_weak(tag):
        response = Response(status=304)
    else:
        today = day == this_day()
        # How products stand is told today alone: on an older day it would be taken for that day's.
        stands = standings.of_day(get_db(), day) if today else []
        page = make_page(strip_days.get_day(get_db(), day), this_day(), latest, stands)
        shown = {
            "page": page, "version": tag, "look_backs": look_backs.open_checks(get_db()) if today else [],
            "all_waiting": sum(waiting.count_waiting(get_db()).values()),
        }  # fmt: skip
        response = Response(render_template(template, **shown))
    response.set_etag(tag)
    return response


def this_day() -> str:
    """Today at the site."""
    return times.local_day(g.now, g.site.time_zone)


def read_day(text: str) -> str | None:
    """`2026-05-14` as it is written, or None if that is no day."""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        return None
