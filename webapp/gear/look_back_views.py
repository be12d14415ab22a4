"""Look-backs: what was read since the meter was last proven, gone through sample by sample after a failed check."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.gear import look_back_page as page
from webapp.gear.blueprint import gear
from webapp.gear.look_back_forms import SettleForm
from webapp.store import look_backs as store
from webapp.store.errors import AlreadyThere
from webapp.ui.access import open_to, who


@gear.app_template_global()
def open_look_backs(meter_id: str | None = None) -> list[page.LookBackLine]:
    """The look-backs that somebody still has to go through, for the lines that lead to them."""
    return [line for line in page.lines(get_db(), meter_id) if line.open]


@gear.get("/gear/look-backs")
@open_to("trainee")
def look_backs():
    """Every look-back: the open ones, then those that are closed."""
    return render_template("gear/look_backs.html", lines=page.lines(get_db()))


@gear.get("/gear/look-backs/<uuid:check_id>")
@open_to("trainee")
def look_back(check_id):
    """The samples of one look-back, the most urgent first."""
    check = page.failed(get_db(), str(check_id))
    return render_template("gear/look_back.html", line=page.line(get_db(), check), views=page.views(get_db(), check))


@gear.route("/gear/look-backs/<uuid:check_id>/<uuid:sample_id>/accepted", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def accept_sample(check_id, sample_id):
    """A lead lets a sample count as it was read, and says why."""
    return settle(str(check_id), str(sample_id), "accepted")


@gear.route("/gear/look-backs/<uuid:check_id>/<uuid:sample_id>/held", methods=["GET", "POST"])
@open_to("roaster")
def hold_sample(check_id, sample_id):
    """The sample's batch is put on hold, and why."""
    return settle(str(check_id), str(sample_id), "held")


def settle(check_id: str, sample_id: str, what: str):
    """The form for either, and what it stores."""
    db, form = get_db(), SettleForm()
    check = page.failed(db, check_id)
    view = page.find_view(db, check, sample_id)
    form.check.data, form.sample.data, form.what.data = check_id, sample_id, what
    status = 422 if form.is_submitted() else 200
    if form.validate_on_submit():
        try:
            store.settle(db, check, sample_id, what, form.reason.data, who(), g.now, form.id.data)
        except AlreadyThere:
            # Somebody else was quicker. What was typed stays on the page, under what is stored now.
            status, view = 409, page.find_view(db, check, sample_id)
        else:
            code = view.doubt.code
            flash(_("Batch %(code)s: accepted.", code=code) if what == "accepted"
                  else _("Batch %(code)s is on hold.", code=code))  # fmt: skip
            return redirect(url_for("gear.look_back", check_id=check_id), code=303)
    return render_template("gear/settle.html", form=form, line=page.line(db, check), view=view, what=what), status
