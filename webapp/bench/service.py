"""The bench's use cases: from a filled form to a stored record, and who may decide what."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from flask_babel import gettext as _

from webapp.bench import readings
from webapp.bench.forms import CaptureForm
from webapp.bench.page import CapturePage
from webapp.store import times
from webapp.store.batches import NewBatch
from webapp.store.new_samples import NewSample
from webapp.store.samples import StepDone
from webapp.store.times import claimed_time
from webapp.ui.batch_form import BatchForm, check_batch, check_code, moment_of_roast
from webapp.ui.filters import method_text


def batch_from(form: BatchForm, roasted_at: datetime, made_at: str) -> NewBatch:
    """What a checked form says."""
    return NewBatch(
        form.id.data,
        form.code.data,
        form.product.data,
        form.machine.data,
        form.lot.data or "",
        form.green.data,
        form.roasted.data,
        form.drop.data,
        form.total.data,
        form.development.data,
        form.note.data or "",
        times.to_text(roasted_at),
        made_at,
    )


def new_batch(form: BatchForm, db, now: datetime) -> NewBatch | None:
    """The batch from its form; None after adding what is wrong beside the fields."""
    roasted_at = moment_of_roast(form)
    check_batch(form, roasted_at, now)
    check_code(form, form.id.data, db)
    return None if form.errors else batch_from(form, roasted_at, times.to_text(now))


def steps_done(form: CaptureForm, page: CapturePage, now: datetime) -> tuple[list[StepDone], list[str]]:
    """The ticked steps, and a message for each that was not."""
    done, problems = [], []
    for step, entry in zip(page.method.steps, form.steps, strict=False):
        row = entry.form
        if row.done.data:
            done.append(StepDone(step.no, claimed_time(row.at.data, now), (row.note.data or "").strip()))
        else:
            problems.append(_("Step %(no)d is not ticked: %(title)s", no=step.no, title=method_text(step.title)))
    return done, problems


@dataclass(frozen=True)
class Checked:
    """A capture form looked through: the sample if it can be stored, what is wrong with the form as a whole (fields
    carry their own), and what somebody should have been asked about."""

    sample: NewSample | None
    problems: list[str]
    questions: list[str]


def chosen_setting(form: CaptureForm, page: CapturePage) -> tuple[str | None, bool]:
    """Where it was ground, and whether that is another setting than the method's; what is not offered is said beside
    the field. Left out, it is the method's."""
    asked = page.method.grinder_setting_id
    chosen = (form.setting.data or asked) if asked else None
    if chosen and chosen not in {asked, *(one.id for one in page.settings)}:
        form.setting.errors = [_("This setting is not offered any more. Choose again.")]
    return chosen, chosen != asked


def new_sample(
    form: CaptureForm, page: CapturePage, walk: bool, now: datetime, made_at: str | None = None, *, insist: bool = True
) -> Checked:
    """The sample from its form. `walk`: every step has to be walked (hands.must_walk). `made_at`: when it was read
    (None: as the form says).

    `insist`: what was not asked about yet (a reading far from all others, readings that disagree) holds it back.
    Without it that is only named: the coffee is gone, and the tablet asked by what it knew.
    """
    setting, off = chosen_setting(form, page)
    # What the product has shown was ground at the method's setting.
    page = replace(page, shown=[]) if off else page
    taken = readings.take(form, page, insist=insist)
    done, problems = steps_done(form, page, now)
    if form.checklist.data not in ("walked", "short", "page"):
        form.checklist.data = "page"
    if form.checklist.data == "short" and walk:
        problems.append(_("The short checklist is for signed-off roasters. Walk the steps one by one."))
    if taken.ok:
        problems += readings.enough(form, page, taken, insist=insist)
    if problems or not taken.ok or form.setting.errors:
        return Checked(None, problems, taken.questions)
    sample = NewSample(
        form.id.data,
        page.batch.id,
        page.kind,
        page.method.id,
        page.meter.id,
        form.checklist.data,
        form.note.data or "",
        made_at or claimed_time(form.made_at.data, now),
        tuple(taken.readings),
        tuple(done),
        setting,
    )
    return Checked(sample, [], taken.questions)


