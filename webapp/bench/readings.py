"""From what was typed to readings: refused in plain words, asked about, or taken; never dropped, never misread."""

from __future__ import annotations

from dataclasses import dataclass, field

from flask_babel import gettext as _
from flask_babel import ngettext

from webapp import measure
from webapp.bench.forms import CaptureForm
from webapp.bench.page import CapturePage
from webapp.store.new_samples import NewReading
from webapp.ui.reading_words import refusal, shown


@dataclass
class Taken:
    """The readings that could be read, whether the form may be stored as it is, and what was not asked about."""

    readings: list[NewReading] = field(default_factory=list)
    ok: bool = True
    questions: list[str] = field(default_factory=list)


def take(form: CaptureForm, page: CapturePage, *, insist: bool = True) -> Taken:
    """Parse every typed reading; messages go beside the fields. `insist`: see service.new_sample."""
    taken = Taken()
    for fill_no, fill in enumerate(form.fills, 1):
        counted: list[tuple[float, object]] = []
        for no, entry in enumerate(fill.form.readings, 1):
            row = entry.form
            row.asked, row.suggestion = False, None
            typed = (row.value.data or "").strip()
            if not typed:
                continue
            lower, upper = page.meter.scale.lower / 100, page.meter.scale.upper / 100
            try:
                value = measure.parse_reading(row.value.data, lower, upper, page.step, bool(row.sure.data))
            except measure.ReadingProblem as problem:
                row.value.errors = [refusal(problem, lower, upper, page.step)]
                row.asked = problem.code == "which"
                if problem.suggestion_hundredths is not None and not row.asked:
                    row.suggestion = shown(problem.suggestion_hundredths / 100, page.step)
                taken.ok = False
                continue
            taken.readings.append(NewReading(fill_no, no, value, typed, row.void.data or "", bool(row.sure.data)))
            if not row.void.data:
                counted.append((value / 100, row))
        ask_about(counted, page, taken, insist)
    return taken


def ask_about(counted: list[tuple[float, object]], page: CapturePage, taken: Taken, insist: bool) -> None:
    """Readings far from their fellows, or from all that this product has shown, are asked about once."""
    values = [value for value, _row in counted]
    mean, sd, n = page.history()
    for index, (value, row) in enumerate(counted):
        far = ""
        if measure.far_from_fellows(values, index, page.sigmas.sigma_r, page.step):
            far = _("Far from the other readings of this fill. Is it right? Tick the box, or type it again.")
        elif measure.far_from_history(value, mean, sd, n, page.sigmas, page.step):
            far = _(
                "This product has read about %(mean)s so far. Is this right? Tick the box, or type it again.",
                mean=measure.show_value(mean, page.step),
            )
        row.asked = bool(far)
        if far and not row.sure.data:
            if insist:
                row.value.errors = [far]
                taken.ok = False
            else:
                taken.questions.append(f"{row.value.data.strip()}: {far}")


def enough(form: CaptureForm, page: CapturePage, taken: Taken, *, insist: bool = True) -> list[str]:
    """What is still missing before the sample can be stored: readings of the plan, one more when they disagree."""
    problems = []
    by_fill: dict[int, list[float]] = {}
    for reading in taken.readings:
        by_fill.setdefault(reading.fill_no, [])
        if not reading.void_reason:
            by_fill[reading.fill_no].append(reading.value / 100)
    if not any(by_fill.values()):
        return [_("Type at least one reading that counts.")]
    planned = page.method.planned_readings
    for fill_no, values in by_fill.items():
        if not values:
            continue
        if len(values) < planned and not form.fewer.data:
            problems.append(
                ngettext(
                    "Fill %(fill)d has %(num)d reading, the method asks for %(planned)d."
                    " Read on, or tick that you store it with fewer.",
                    "Fill %(fill)d has %(num)d readings, the method asks for %(planned)d."
                    " Read on, or tick that you store it with fewer.",
                    len(values),
                    fill=fill_no,
                    planned=planned,
                )
            )
            form.fewer.asked = True
        state = measure.fill_value(values, planned, page.sigmas.sigma_r, page.step)
        if state.state == "more" and not form.no_more.data and len(values) >= planned:
            (problems if insist else taken.questions).append(
                ngettext(
                    "The readings of fill %(fill)d disagree. Take %(num)d more, or tick that none can be taken.",
                    "The readings of fill %(fill)d disagree. Take %(num)d more, or tick that none can be taken.",
                    state.more,
                    fill=fill_no,
                )
            )
            form.no_more.asked = True
    return problems
