"""What the form of a reading's correction says."""

from __future__ import annotations

from webapp import measure
from webapp.corrections.forms import ReadingForm
from webapp.store.samples import Reading, Sample
from webapp.ui.reading_words import refusal


def find_reading(sample: Sample, fill_no: int, reading_no: int) -> Reading | None:
    """The reading by its place, or None."""
    return next((r for r in sample.readings if (r.fill_no, r.no) == (fill_no, reading_no)), None)


def corrected_value(form: ReadingForm, sample: Sample) -> int | None:
    """The new value in hundredths, None to void; what is wrong with it stands beside the field."""
    if form.what.data == "void":
        return None
    lower, upper, step = (v / 100 for v in (sample.scale_lower, sample.scale_upper, sample.step))
    try:
        return measure.parse_reading(form.value.data or "", lower, upper, step)
    except measure.ReadingProblem as problem:
        form.value.errors = [refusal(problem, lower, upper, step)]
        return None
