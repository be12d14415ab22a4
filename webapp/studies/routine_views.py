"""Routine precision: everyday work against the study of its method, month by month."""

from __future__ import annotations

from flask import g, render_template

from webapp.db import get_db
from webapp.studies import routine_page
from webapp.studies.blueprint import studies
from webapp.ui.access import at_least, open_to


@studies.get("/studies/routine")
@open_to("trainee")
def routine():
    """The last twelve months. Whose readings disagreed how often is for a lead; everybody sees their own."""
    only = None if at_least("lead") else g.session.person_id
    page = routine_page.gather(get_db(), g.now, g.site.time_zone, only)
    return render_template("studies/routine.html", page=page, month_name=routine_page.month_name, only=only)
