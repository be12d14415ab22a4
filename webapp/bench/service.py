"""The bench's use cases: from a filled form to a stored record, and who may decide what."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from flask_babel import gettext as _

from webapp import measure
from webapp.bench import readings
from webapp.bench.forms import BatchForm, CaptureForm, CorrectionForm
from webapp.bench.page import CapturePage
from webapp.store import batches, times
from webapp.store.batches import Batch, NewBatch
from webapp.store.new_samples import NewSample
from webapp.store.samples import Sample, StepDone
from webapp.store.times import claimed_time
from webapp.ui.filters import method_text, site_zone
from webapp.ui.reading_words import refusal

CLOCK_SLACK = timedelta(minutes=5)
FIRST_YEAR = 2000


def moment_of_roast(form: BatchForm) -> datetime:
    """Day and time of the roast at the site. The form is valid so far."""
    return datetime.combine(form.day.data, form.clock.data, site_zone())


def check_batch(form: BatchForm, roasted_at: datetime, now: datetime) -> None:
    """What the fields say together; messages go beside them."""
    if form.day.data.year < FIRST_YEAR:
        form.day.errors = [*form.day.errors, _("Check the year of this day.")]
    if roasted_at > now + CLOCK_SLACK:
        form.clock.errors = [*form.clock.errors, _("This time is still to come. Check the day and the time.")]
    if form.roasted.data and form.green.data and form.roasted.data > form.green.data:
        form.roasted.errors = [*form.roasted.errors, _("Roasted coffee cannot weigh more than the green it came from.")]
    if form.development.data and form.total.data and form.development.data > form.total.data:
        form.development.errors = [
            *form.development.errors,
            _("The development cannot be longer than the whole roast."),
        ]


def twin(form: BatchForm, db) -> Batch | None:
    """Another batch with this code, the newest."""
    return next((b for b in batches.find_by_code(db, form.code.data) if b.id != form.id.data), None)


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
    if there := twin(form, db):
        form.code.errors = [
            *form.code.errors,
            _(
                "Batch %(code)s is there already: %(product)s, %(day)s. Give this one another code.",
                code=form.code.data,
                product=there.product_name,
                day=there.day,
            ),
        ]
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


def corrected_value(form: CorrectionForm, sample: Sample) -> int | None:
    """The new value in hundredths, None to void; what is wrong with it stands beside the field."""
    if form.what.data == "void":
        return None
    lower, upper, step = (v / 100 for v in (sample.scale_lower, sample.scale_upper, sample.step))
    try:
        return measure.parse_reading(form.value.data or "", lower, upper, step)
    except measure.ReadingProblem as problem:
        form.value.errors = [refusal(problem, lower, upper, step)]
        return None
