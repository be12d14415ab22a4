"""A sample as a record shows it: how it was prepared and read, with every reading that was taken."""

from __future__ import annotations

from dataclasses import dataclass

from flask_babel import gettext as _
from flask_babel import ngettext
from sqlite_utils import Database

from webapp import measure
from webapp.measure import show_signed, show_value
from webapp.sheets.fields import Choice
from webapp.sheets.people import People
from webapp.store import batch_records, checks, meter_state, methods
from webapp.store.batch_records import Plate
from webapp.store.samples import Reading, Sample
from webapp.ui import verdict_words
from webapp.ui.filters import clock, clock_s, day_and_clock, method_text
from webapp.ui.meter_says import meter_says
from webapp.ui.numbers import decimal_mark, scale_exact, scale_number


@dataclass(frozen=True)
class Shown:
    """A reading: what counts ("" where nothing does), and what was struck through."""

    counts: str
    struck: tuple[str, ...]


@dataclass(frozen=True)
class Fill:
    """A fill with its readings, and what they come to ("" where none counts)."""

    no: int
    readings: tuple[Shown, ...]
    value: str


@dataclass(frozen=True)
class StepLine:
    """A step ticked, when, and what was noted with it."""

    text: str
    at: str
    note: str


@dataclass(frozen=True)
class SampleSheet:
    """kind, title, at: which one; facts: (name, text); warnings: why it is in doubt or does not count; remarks: about
    its readings; steps: those ticked."""

    kind: str
    title: str
    at: str
    facts: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]
    fills: tuple[Fill, ...]
    remarks: tuple[str, ...]
    steps: tuple[StepLine, ...]
    note: str


def sheet_of(db: Database, sample: Sample, choice: Choice, people: People) -> SampleSheet:
    """See SampleSheet."""
    return SampleSheet(
        sample.kind, verdict_words.kind_word(sample.kind), clock(sample.received_at),
        tuple((name, text) for name, text in facts(db, sample, choice, people) if text),
        tuple(warnings(db, sample, choice, people)), fills(sample) if "readings" in choice else (),
        remarks(sample, choice, people), steps(db, sample) if "steps" in choice else (),
        choice.only("notes", sample.note),
    )  # fmt: skip


def facts(db: Database, sample: Sample, choice: Choice, people: People):
    """(Name, text) of how it was read; "" for what is left out."""
    version = _("%(method)s, version %(no)d", method=method_text(sample.method_name), no=sample.method_no)
    yield _("Method"), version
    yield _("Read by"), people.of(sample, sample.person_name, sample.role, sample.tablet_name)
    yield _("Meter"), sample.meter_name
    if plate := batch_records.find_plate(db, sample.plate_id):
        yield _("Reference plate"), plate_words(plate, sample.step)
    if "check" in choice:
        yield _("Last check before"), check_words(db, sample, people)
    if sample.setting:
        yield _("Grinder, setting"), sample.setting
    yield _("Checklist"), {
        "walked": _("walked step by step"), "short": _("short checklist"), "page": _("long page"),
    }[sample.checklist]  # fmt: skip


def plate_words(plate: Plate, step: int) -> str:
    """`Plate 1, 60.0 ± 0.2`."""
    assigned, within = scale_exact(plate.assigned, step), scale_exact(plate.tolerance, step)
    return f"{plate.name}, {assigned}\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}{within}"


def check_words(db: Database, sample: Sample, people: People) -> str:
    """The newest check of the meter before the sample, and what it found."""
    last = meter_state.last_check(db, sample.meter_id, sample.made_at)
    if last is None:
        return _("none before this sample")
    check = checks.get_check(db, last.id)
    found = show_signed(check.found, 0.01, decimal_mark())
    numbers = _("%(found)s as found", found=found)
    if check.left_off is not None:
        numbers = _("%(found)s as found, %(left)s as left", found=found,
                    left=show_signed(check.left_off, 0.01, decimal_mark()))  # fmt: skip
    said = _("passed") if check.passed else _("failed, adjusted") if check.proven else _("failed")
    when = people.at(check.person_name, day_and_clock(check.made_at))
    allowed = scale_exact(check.tolerance, sample.step)
    return _("%(said)s: %(numbers)s, %(allowed)s allowed (%(when)s)", said=said, numbers=numbers, allowed=allowed,
             when=when)  # fmt: skip


def warnings(db: Database, sample: Sample, choice: Choice, people: People):
    """Why a sample is in doubt, kept apart, or counts no longer."""
    meter = meter_says(db, sample)
    if meter.entry and meter.entry.what == "reread":
        yield _("Read again, because the meter’s next check failed: this one does not count.")
    elif meter.entry and meter.entry.what == "accepted":
        said = _("The meter’s next check failed. Accepted.")
        reason = choice.only("notes", meter.entry.reason)
        yield " ".join(filter(None, (said, people.name(meter.entry.person_name), reason and f"“{reason}”")))
    elif meter.text:
        yield meter.text
    if sample.ground_at:
        yield verdict_words.settings_text(sample.ground_at)
    if sample.import_id:
        yield _("Taken in from a file: nobody typed it at this bench.")


def fills(sample: Sample) -> tuple[Fill, ...]:
    """The fills with every reading, struck through where it does not count."""
    by_fill: dict[int, list[Reading]] = {}
    for reading in sample.readings:
        by_fill.setdefault(reading.fill_no, []).append(reading)
    return tuple(
        Fill(no, tuple(shown(one, sample.step) for one in there), value_of(there, sample))
        for no, there in sorted(by_fill.items())
    )


def shown(reading: Reading, step: int) -> Shown:
    """A reading with everything that was ever said of its value."""
    values = [reading.value, *(one.value for one in reading.corrections)]
    texts = [None if value is None else scale_number(value, step) for value in values]
    counts = "" if reading.counts is None else scale_number(reading.counts, step)
    struck = texts[:-1] if counts else texts
    return Shown(counts, tuple(text for text in struck if text))


def value_of(readings: list[Reading], sample: Sample) -> str:
    """What a fill comes to, and how."""
    values = [one.counts / 100 for one in readings if one.counts is not None]
    if not values:
        return ""
    found = measure.fill_value(values, sample.planned_readings, sample.sigma_r, sample.step / 100, final=True)
    # The mean of some readings is finer than the step of each.
    text = show_value(found.value, sample.step / 1000, decimal_mark())
    return _("mean %(value)s", value=text) if found.how == "mean" else _("median %(value)s", value=text)


def remarks(sample: Sample, choice: Choice, people: People) -> tuple[str, ...]:
    """What was said of single readings; where these are left out, how many were corrected or do not count."""
    if "readings" not in choice:
        return counted(sample)
    found = []
    for one in sample.readings:
        where = _("fill %(fill)d, reading %(no)d", fill=one.fill_no, no=one.no)
        if one.void_reason:
            why = {"mistyped": _("mistyped"), "moved": _("meter moved")}.get(one.void_reason, _("failed"))
            found.append(f"{where}: {_('does not count: %(reason)s', reason=why)}")
        if one.confirmed:
            found.append(f"{where}: {_('asked about, and confirmed')}")
        for later in one.corrections:
            when = people.at(later.person_name, day_and_clock(later.received_at))
            said = _("corrected, %(when)s", when=when) if later.value is not None else _("voided, %(when)s", when=when)
            reason = choice.only("notes", later.reason)
            found.append(f"{where}: {said}" + (f" “{reason}”" if reason else ""))
    return tuple(found)


def counted(sample: Sample) -> tuple[str, ...]:
    """That some readings were corrected, or do not count, without their numbers."""
    found = []
    if corrected := sum(bool(one.corrections) for one in sample.readings):
        found.append(ngettext("%(num)d reading was corrected.", "%(num)d readings were corrected.", corrected))
    if void := sum(one.counts is None for one in sample.readings):
        found.append(ngettext("%(num)d reading does not count.", "%(num)d readings do not count.", void))
    return tuple(found)


def steps(db: Database, sample: Sample) -> tuple[StepLine, ...]:
    """The steps ticked, with the times."""
    of = {step.no: step for step in methods.get_version(db, sample.method_version_id).steps}
    return tuple(
        StepLine(
            f"{done.step_no}. {method_text(of[done.step_no].title)}", clock_s(done.done_at),
            f"{done.note} {method_text(of[done.step_no].note_unit)}".strip() if done.note else "",
        )
        for done in sample.steps
    )  # fmt: skip
