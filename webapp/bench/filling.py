"""Forms filled with what is known, so that nobody types what the bench knows already."""

from __future__ import annotations

import re
import uuid

from flask import g, request
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict
from wtforms.fields.choices import SelectChoice

from webapp.bench.forms import BatchForm, CaptureForm
from webapp.bench.page import CapturePage
from webapp.store import batches, gear, products
from webapp.store.times import local_day, to_text
from webapp.ui.filters import site_zone

MOST_FILLS = 4
ROW_NAME = re.compile(
    r"steps-(0|[1-9][0-9]{0,4})-(?:done|at|note)"
    r"|fills-(0|[1-9][0-9]{0,4})-readings-(0|[1-9][0-9]{0,4})-(?:value|void|sure)"
)
READING_NAME = re.compile(r"fills-[0-3]-readings-\d{1,2}-value")


def batch_form(db: Database) -> tuple[BatchForm, bool]:
    """The form for a new batch, and whether there is a product and a machine to choose."""
    day = local_day(g.now, g.site.time_zone)
    last = batches.last_facts(db, g.tablet.id) or {}
    local = g.now.astimezone(site_zone())
    form = BatchForm(
        id=str(uuid.uuid4()),
        code=batches.propose_code(db, day),
        day=local.date(),
        clock=local.time().replace(second=0, microsecond=0),
        product=request.args.get("product"),
        machine=last.get("machine_id"),
    )
    form.product.choices = [SelectChoice(p.id, p.name) for p in products.list_products(db)]
    machines = [m for m in gear.list_machines(db) if m.active]
    form.machine.choices = [SelectChoice(m.id, m.name) for m in machines]
    if len(machines) == 1:
        form.machine.data = form.machine.data or machines[0].id
    return form, bool(form.product.choices and machines)


def capture_form(page: CapturePage) -> CaptureForm:
    """The form for one sample: as posted, or empty with room for every step and reading."""
    if request.method == "POST":
        form = CaptureForm(formdata=padded(request.form, page))
    else:
        form = CaptureForm(
            formdata=padded(MultiDict(), page),
        )
        form.id.data, form.made_at.data = str(uuid.uuid4()), to_text(g.now)
        form.method_version.data, form.checklist.data, form.meter.data = page.method.id, "page", page.meter.id
    form.meter.choices = [SelectChoice(m.id, m.name) for m in page.meters]
    for flag in (form.fewer, form.no_more):
        flag.asked = bool(flag.data)
    return form


def padded(posted: MultiDict, page: CapturePage) -> MultiDict:
    """The posted fields, with an empty field for every step and reading that was not sent, and room for one more fill.

    A tap on a suggestion (`take`, without a script) puts it into its field. A browser leaves out an unticked box, and
    a field list keeps only the rows it is sent: without this a step in the middle would vanish and the ones behind it
    move up.
    """
    full = MultiDict(posted)
    name, _equals, value = full.pop("take", "").partition("=")
    if READING_NAME.fullmatch(name):
        full.setlist(name, [value])
    used = [int(name[6]) + 1 for name, text in full.items() if READING_NAME.fullmatch(name) and text.strip()]
    fills = min(MOST_FILLS, max([page.method.planned_fills, *used]) + 1)
    return make_room(full, len(page.method.steps), fills, page.rows)


def make_room(full: MultiDict, steps: int, fills: int, rows: int) -> MultiDict:
    """Add an empty field for each of so many steps, fills and readings that is not there.

    Leaves out what only looks like one (`steps-²-done`): a field list would stumble over it.
    """
    for name in [n for n in full if n.startswith(("steps", "fills")) and ROW_NAME.fullmatch(n) is None]:
        full.poplist(name)
    for step in range(steps):
        full.setdefault(f"steps-{step}-at", "")
    for fill in range(fills):
        for row in range(rows):
            full.setdefault(f"fills-{fill}-readings-{row}-value", "")
    return full
