"""Forms filled with what is known, so that nobody types what the bench knows already."""

from __future__ import annotations

import re
import uuid

from flask import g, request
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict
from wtforms.fields.choices import SelectChoice

from webapp.bench.forms import CaptureForm
from webapp.bench.page import CapturePage
from webapp.store import batches, gear, products
from webapp.store.times import local_day, to_text
from webapp.ui.batch_form import BatchForm
from webapp.ui.filters import site_zone

MOST_FILLS = 4
READING_NAME = re.compile(r"fills-([0-3])-readings-(\d{1,2})-value")
# Step; or fill and reading.
ROW_NAME = re.compile(
    r"steps-(0|[1-9][0-9]{0,4})-(?:done|at|note)"
    r"|fills-(0|[1-9][0-9]{0,4})-readings-(0|[1-9][0-9]{0,4})-(?:value|void|sure)"
)


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


def capture_form(page: CapturePage, make: type[CaptureForm] = CaptureForm) -> CaptureForm:
    """The form for one sample: as posted, or empty with room for every step and reading."""
    if request.method == "POST":
        form = make(formdata=with_steps(trimmed(request.form), len(page.method.steps)))
    else:
        form = make(formdata=with_steps(MultiDict(), len(page.method.steps)))
        form.id.data, form.made_at.data = str(uuid.uuid4()), to_text(g.now)
        form.method_version.data, form.checklist.data, form.meter.data = page.method.id, "page", page.meter.id
        form.setting.data = page.setting
        make_room(form, page)
    form.meter.choices = [SelectChoice(m.id, m.name) for m in page.meters]
    for flag in (form.fewer, form.no_more):
        flag.asked = bool(flag.data)
    return form


def trimmed(posted: MultiDict) -> MultiDict:
    """The posted fields without the rows that were left empty at the end of a fill, and without unused fills.

    A tap on a suggestion (`take`, without a script) is put into its field first. What only looks like a row
    (`steps-²-done`) is left out: a field list would stumble over it.
    """
    kept = MultiDict(posted)
    name, _equals, value = kept.pop("take", "").partition("=")
    if READING_NAME.fullmatch(name):
        kept.setlist(name, [value])
    used: dict[str, int] = {}
    for name, text in kept.items():
        if (found := READING_NAME.fullmatch(name)) and text.strip():
            used[found[1]] = max(used.get(found[1], -1), int(found[2]))
    for name in [n for n in kept if n.startswith(("steps", "fills"))]:
        found = ROW_NAME.fullmatch(name)
        if found is None or (found[3] and int(found[3]) > used.get(found[2], -1)):
            del kept[name]
    # A field list keeps only the rows it is sent: an empty one in the middle must be sent, or the rest moves up.
    for fill in range(max((int(fill) for fill in used), default=-1) + 1):
        for row in range(used.get(str(fill), 0) + 1):
            kept.setdefault(f"fills-{fill}-readings-{row}-value", "")
    return kept


def with_steps(posted: MultiDict, steps: int) -> MultiDict:
    """With a field for every step: a browser leaves out an unticked box, and the steps behind it would move up."""
    for index in range(steps):
        posted.setdefault(f"steps-{index}-at", "")
    return posted


def make_room(form: CaptureForm, page: CapturePage) -> None:
    """Rows for the plan and a little more in every fill, and one more fill than is used: before the form is shown.

    For practice all fills: what the practice meter shows of each stands beside it.
    """
    used = sum(1 for fill in form.fills if fill.form.readings.entries)
    room = MOST_FILLS if page.practice else max(page.method.planned_fills, used) + 1
    while len(form.fills) < min(MOST_FILLS, room):
        form.fills.append_entry()
    for fill in form.fills:
        while len(fill.form.readings) < page.rows:
            fill.form.readings.append_entry()
