"""Practice: choose a method, prepare and read as always, look at the answer. Nothing of it is stored.

Every view here runs where SQLite itself refuses to write.
"""

from __future__ import annotations

from flask import Blueprint, g, render_template, request
from flask_babel import gettext as _
from wtforms.fields.choices import SelectChoice

from webapp.bench import hands, service
from webapp.bench import practice as practising
from webapp.bench.filling import capture_form, make_room
from webapp.bench.forms import PracticeChoiceForm, PracticeForm
from webapp.db import get_db
from webapp.store.connect import read_only
from webapp.ui.access import open_to
from webapp.ui.filters import method_text

practice = Blueprint("practice", __name__)


@practice.get("/practice")
@open_to("trainee")
def choose():
    """What is practised, and with whose numbers."""
    with read_only(get_db()) as db:
        versions, meters = practising.usable(db)
        if not versions or not meters:
            return render_template("bench/not_ready.html")
        form = PracticeChoiceForm(
            formdata=None, method=versions[0].method_id, dish=practising.INVENTED, meter=meters[0].id
        )
        form.method.choices = [SelectChoice(v.method_id, method_text(v.name)) for v in versions]
        form.dish.choices = [
            SelectChoice(practising.INVENTED, _("What the practice meter shows: invented, no meter needed")),
            SelectChoice(practising.OWN, _("A dish of my own, on a meter")),
        ]
        form.meter.choices = [SelectChoice(m.id, m.name) for m in meters]
        return render_template("bench/practice.html", form=form)


@practice.route("/practice/sample", methods=["GET", "POST"])
@open_to("trainee")
def sample():
    """Prepare and read one invented sample; its answer comes at once, and is gone with the page."""
    posted = request.method == "POST"
    with read_only(get_db()) as db:
        sent = (request.form.get(name, "") for name in ("id", "method_version"))
        page = practising.gather(db, request.args.to_dict(), *sent, g.now)
        if page is None:
            return render_template("bench/not_ready.html")
        form, problems = capture_form(page, PracticeForm), []
        form.id.data = page.practice.number
        form.meter.data = page.meter.id
        walk = hands.must_walk(db, g.session.person_id, g.session.role, page.kind, g.now)
        if posted:
            valid = form.validate()
            checked = service.new_sample(form, page, walk, g.now)
            problems = checked.problems
            if valid and checked.sample:
                found = practising.answer(checked.sample, page)
                return render_template("bench/practice_answer.html", page=page, answer=found)
            make_room(form, page)
        shown = render_template("bench/capture.html", form=form, page=page, problems=problems, onward=None, walk=walk)
        return shown, 422 if posted else 200
