"""The result of a precision study: seen by a lead while it is open, by everybody once a lead has concluded it."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import RadioField
from wtforms.fields.choices import SelectChoice

from webapp.db import get_db
from webapp.store import precision
from webapp.store.connect import write
from webapp.studies import precision_result as findings
from webapp.studies.blueprint import studies
from webapp.studies.precision_result import Findings
from webapp.ui.access import at_least, open_to, who
from webapp.ui.forms import BaseForm, required
from webapp.ui.record_fields import NOT_OFFERED, LineField, RecordIdField


class PrecisionOutcomeForm(BaseForm):
    """What a lead makes of the study, and why."""

    id = RecordIdField()
    outcome = RadioField(
        _l("Outcome"), validators=[required(_l("Choose the outcome."))], invalid_choice_message=NOT_OFFERED
    )
    reason = LineField(_l("Reason"), message=_l("Say in a few words why."), most=200)


def outcome_form(found: Findings) -> PrecisionOutcomeForm:
    """Without a result there is nothing to accept."""
    form = PrecisionOutcomeForm()
    accepted = SelectChoice("accepted", _("Accept: results by this method use these numbers from now on"))
    set_aside = SelectChoice("set_aside", _("Set aside: nothing changes"))
    form.outcome.choices = [accepted, set_aside] if found.found else [set_aside]
    if request.method == "GET" and not found.found:
        form.outcome.data = "set_aside"
    return form


def result_page(found: Findings, form: PrecisionOutcomeForm | None):
    """The page, with the form while there is something to conclude."""
    return render_template(
        "studies/precision_result.html",
        found=found,
        study=found.study,
        form=form,
        change=findings.change(get_db(), found, g.now) if found.found else None,
    )


@studies.get("/studies/precision/<uuid:study_id>/result")
@open_to("trainee")
def precision_result(study_id):
    """The numbers, for whoever they can do no harm: nobody reads freely who knows them."""
    db = get_db()
    study = precision.get_study(db, str(study_id))
    if precision.find_outcome(db, study.id) is None:
        unread = findings.still_to_read(db, study, g.session.person_id)
        if not at_least("lead") or (unread and "look" not in request.args):
            return render_template("studies/precision_hidden.html", study=study, unread=unread)
    found = findings.gather(db, study)
    return result_page(found, outcome_form(found) if found.outcome is None else None)


@studies.post("/studies/precision/<uuid:study_id>/result")
@open_to("lead", confirmed=True)
def conclude_precision(study_id):
    """Accept the study or set it aside, or say what keeps it from being stored."""
    db = get_db()
    # In one transaction: what is looked at is what is concluded.
    with write(db):
        found = findings.gather(db, precision.get_study(db, str(study_id)))
        if found.outcome is None:
            form = outcome_form(found)
            if not form.validate() or not unchanged(form, found):
                return result_page(found, form), 422
            new = findings.outcome_of(found, form.id.data, form.outcome.data, form.reason.data)
            precision.add_outcome(db, new, who(), g.now)
            flash(_("The outcome is stored."))
    return redirect(url_for("studies.precision_result", study_id=study_id), code=303)


def unchanged(form: PrecisionOutcomeForm, found: Findings) -> bool:
    """Whether the numbers are those that were shown; says so beside the field if not."""
    if request.form.get("seen") == str(found.seen):
        return True
    form.outcome.errors = [_("Somebody has read more meanwhile. Look at the numbers again, then store.")]
    return False
