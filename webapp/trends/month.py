"""Everything on the report of a month, worked out beforehand: one product, one page."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from importlib import metadata

from flask import current_app, url_for
from flask_babel import format_date
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.measure import show_percent, show_value
from webapp.measure.witness import loss_percent
from webapp.store import methods, months, witnesses
from webapp.store.months import Month, MonthBatch
from webapp.store.products import Product
from webapp.store.trends import KINDS, Kind
from webapp.trends import month_drawing, witness, words
from webapp.trends.month_drawing import Drawing
from webapp.trends.months import Fired, KindMonth, look
from webapp.trends.run import Event
from webapp.ui.cause_words import cause_words
from webapp.ui.filters import method_text
from webapp.ui.numbers import decimal_mark
from webapp.ui.verdict_words import kind_word

# As much as one sheet of paper holds; what is beyond is counted.
MOST_SIGNALS, MOST_EVENTS, MOST_DOUBTS, MOST_READERS, MOST_LOTS, NOTE = 5, 6, 2, 6, 4, 90


@dataclass(frozen=True)
class Line:
    """A kind in the table. Texts; '' for what there is not."""

    kind: Kind
    batches: int
    mean: str
    band: str
    inside: str
    share: str
    indices: tuple[tuple[str, str], ...]
    few: bool
    remarks: tuple[str, ...]
    drawing: Drawing
    told: str


@dataclass(frozen=True)
class Signal:
    """A signal as text. state: 'closed', 'open' or 'none' (nobody has said anything yet)."""

    kind: Kind
    day: str
    code: str
    url: str
    sentence: str
    cause: str
    note: str
    state: str


@dataclass(frozen=True)
class Page:
    """The report. facts, verdicts, decisions: (name, number); earlier, later: months with batches, '' for none."""

    title: str
    batches: int
    facts: tuple[tuple[str, str], ...]
    verdicts: tuple[tuple[str, str, str, int], ...]
    decisions: tuple[tuple[str, int], ...]
    lines: tuple[Line, ...]
    remarks: tuple[str, ...]
    signals: tuple[Signal, ...]
    more_signals: int
    events: tuple[tuple[str, str], ...]
    more_events: int
    doubts: tuple[tuple[str, str], ...]
    more_doubts: int
    loss: str
    readers: tuple[tuple[str, int], ...]
    more_readers: int
    earlier: str
    later: str
    version: str


def month_title(name: str) -> str:
    """`2026-05` as `May 2026`."""
    return format_date(Month(name, "", "").first_day, "LLLL y")


def make(db: Database, product: Product, month: Month) -> Page:
    """The report of a product and a month."""
    batches = months.get_batches(db, product.id, month)
    kinds = [found for kind in KINDS if (found := look(db, product.id, kind, month))]
    signals = sorted(((one, it) for it in kinds for one in it.signals), key=lambda two: two[0].point.roasted_at)
    happened = events(db, product, kinds, month)
    odd = [one for one in witnesses.disagreeing(db, product.id, month.until, max(witnesses.LOOKED_AT, len(batches)))
           if one.point.roasted_at >= month.since]  # fmt: skip
    readers = months.count_readers(db, product.id, month)
    lines = tuple(line(db, it) for it in kinds)
    return Page(
        month_title(month.name), len(batches), tuple(facts(batches)), tuple(verdicts(batches)),
        tuple(decisions(batches)), lines, remarks_of(lines),
        tuple(signal(one, it) for one, it in signals[-MOST_SIGNALS:]), max(0, len(signals) - MOST_SIGNALS),
        tuple(happened[-MOST_EVENTS:]), max(0, len(happened) - MOST_EVENTS),
        tuple((witness.disagreement(one.point.code), url_for("bench.result", batch_id=one.point.batch_id))
              for one in odd[-MOST_DOUBTS:]),
        max(0, len(odd) - MOST_DOUBTS), loss_words(batches, bool(odd)), tuple(readers[:MOST_READERS]),
        max(0, len(readers) - MOST_READERS), *months.neighbours(db, product.id, month), software(),
    )  # fmt: skip


def software() -> str:
    """The version that made the page: the release and the build of its files."""
    try:
        release = metadata.version("drumside")
    except metadata.PackageNotFoundError:
        release = "?"
    return f"{release} ({current_app.config['BUILD']})"


def facts(batches: list[MonthBatch]) -> list[tuple[str, str]]:
    """What was roasted."""
    found = [(_("Batches"), str(len(batches))), (_("Days"), str(len({one.day for one in batches})))]
    green = [one.green_g for one in batches if one.green_g]
    roasted = [one.roasted_g for one in batches if one.roasted_g]
    for name, masses in ((_("Green"), green), (_("Roasted"), roasted)):
        if masses:
            text = _("%(mass)s kg", mass=show_value(sum(masses) / 1000, 0.1, decimal_mark()))
            if len(masses) < len(batches):
                text = _("%(mass)s of %(num)d batches", mass=text, num=len(masses))
            found.append((name, text))
    machines = Counter(one.machine_name for one in batches)
    found.append((_("Machine"), ", ".join(machines) if len(machines) == 1 else counted(machines)))
    if lots := Counter(one.lot for one in batches if one.lot):
        found.append((_("Lot"), counted(lots)))
    return found


def counted(there: Counter) -> str:
    """`K-118: 12, K-124: 9`, most first; what is beyond MOST_LOTS is counted."""
    shown = [f"{name}: {many}" for name, many in there.most_common(MOST_LOTS)]
    return ", ".join(shown + [_("%(num)d more", num=len(there) - MOST_LOTS)] * (len(there) > MOST_LOTS))


def verdicts(batches: list[MonthBatch]) -> list[tuple[str, str, str, int]]:
    """(verdict, side, words, batches), those that there are, and how many are in band in any case."""
    names = {
        ("inside", ""): _("In band"), ("undecided", ""): _("Too close to call"),
        ("outside", "darker"): _("Out, darker"), ("outside", "lighter"): _("Out, lighter"), ("outside", ""): _("Out"),
        ("incomplete", ""): _("Not read, or only in part"), ("unjudged", ""): _("No band"),
    }  # fmt: skip
    there = Counter((one.verdict, one.side or "" if one.verdict == "outside" else "") for one in batches)
    return [(*key, name, there[key]) for key, name in names.items() if there[key] or key == ("inside", "")]


def decisions(batches: list[MonthBatch]) -> list[tuple[str, int]]:
    """What became of them."""
    names = {
        "release": _("released"), "concession": _("released by concession"), "hold": _("held"),
        "reject": _("rejected"), "remeasure": _("to be read again"), "blend": _("went into a blend"),
        None: _("nothing decided"),
    }  # fmt: skip
    there = Counter(one.decision for one in batches)
    found = [(name, there[what]) for what, name in names.items() if there[what]]
    if unproven := sum(not one.proven and one.verdict != "incomplete" for one in batches):
        found.append((_("read on a meter that was not proven"), unproven))
    return found


def line(db: Database, it: KindMonth) -> Line:
    """A kind as text."""
    step = it.scale.step / 100
    able = it.capability
    indices = () if able is None else tuple(
        (name, words.index_words(index))
        for name, index in (("Cp", able.cp), ("Cpk", able.cpk), ("Pp", able.pp), ("Ppk", able.ppk)) if index
    )  # fmt: skip
    return Line(
        it.kind, len(it.points), show_value(it.mean, step / 10, decimal_mark()), band_words(it), *share_words(it),
        indices, it.few, tuple(remarks(db, it)), month_drawing.draw(it),
        _("%(kind)s: %(num)d batches, mean %(mean)s", kind=kind_word(it.kind), num=len(it.points),
          mean=show_value(it.mean, step, decimal_mark())),
    )  # fmt: skip


def band_words(it: KindMonth) -> str:
    """`59.5 to 62.5`, or the one limit there is."""
    if it.band is None:
        return ""
    lower, _centre, upper = (
        None if end is None else show_value(end, it.scale.step / 100, decimal_mark()) for end in it.band
    )  # fmt: skip
    if lower and upper:
        return _("%(lower)s to %(upper)s", lower=lower, upper=upper)
    return _("from %(limit)s", limit=lower) if lower else _("up to %(limit)s", limit=upper)


def share_words(it: KindMonth) -> tuple[str, str]:
    """(`42 of 44`, `85 % to 99 %`): how many lay in band, and what share that speaks for."""
    if it.share is None:
        return "", ""
    low, high = (show_percent(end, decimal_mark()) for end in it.share)
    return _("%(inside)d of %(all)d", inside=it.inside, all=it.judged), _("%(low)s to %(high)s", low=low, high=high)


def remarks(db: Database, it: KindMonth) -> list[str]:
    """What the numbers leave out."""
    found = []
    if it.otherwise:
        version = methods.get_version(db, it.version_id)
        found.append(
            _("%(num)d read otherwise than by %(method)s %(no)d are left out.", num=it.otherwise,
              method=method_text(version.name), no=version.no)
        )  # fmt: skip
    if it.apart:
        found.append(_("%(num)d kept apart are left out.", num=it.apart))
    if len({it.bands.get(point.target_version_id or "") for point in it.points}) > 1:
        found.append(_("The band changed: the indices are against the last one."))
    return found


def remarks_of(lines: tuple[Line, ...]) -> tuple[str, ...]:
    """The remarks of all kinds, each with the kinds that it is about, unless it is about all of them."""
    found: dict[str, list[str]] = {}
    for one in lines:
        for text in one.remarks:
            found.setdefault(text, []).append(kind_word(one.kind))
    return tuple(
        text if len(kinds) == len(lines) else f"{', '.join(kinds)}: {text}" for text, kinds in found.items()
    )


def signal(one: Fired, it: KindMonth) -> Signal:
    """A signal as text."""
    last = one.notes[-1] if one.notes else None
    said = " ".join(filter(None, (last.note, last.done))) if last else ""
    return Signal(
        it.kind, words.day_of_time(one.point.roasted_at), one.point.code,
        url_for("bench.result", batch_id=one.point.batch_id), words.signal_words(one),
        cause_words(last.cause) if last else "", said if len(said) <= NOTE else said[: NOTE - 1].rstrip() + "…",
        "none" if last is None else "closed" if one.closed else "open",
    )  # fmt: skip


def events(db: Database, product: Product, kinds: list[KindMonth], month: Month) -> list[tuple[str, str]]:
    """(day, words) of what the logs say of the month, and which lots, machines and meters came for the first time."""
    found = {
        (one.at, one.what, one.name) for it in kinds for one in months.list_happenings(db, product.id, it.run, month)
    }
    earlier = [point for it in kinds for point in it.run.points if point.roasted_at < month.since]
    within = sorted((point for it in kinds for point in it.points), key=lambda point: point.roasted_at)
    for what, name in (("lot", "lot"), ("machine", "machine_name"), ("meter", "meter_name")):
        seen = {getattr(point, name) for point in earlier}
        # With nothing from before, everything would be a first.
        for point in within if seen else ():
            if (value := getattr(point, name)) and value not in seen:
                seen.add(value)
                found.add((point.roasted_at, what, value))
    # What happened again and again is one line.
    days: dict[str, list[str]] = {}
    for at, what, name in sorted(found):
        days.setdefault(words.event_words(Event(0, at, what, name)), []).append(words.day_of_time(at))
    return [(days_words(there), text) for text, there in days.items()]


def days_words(days: list[str]) -> str:
    """`9 Oct`, or the first and the last of more."""
    several = list(dict.fromkeys(days))
    return several[0] if len(several) == 1 else _(
        "%(num)d times, %(first)s to %(last)s", num=len(several), first=several[0], last=several[-1]
    )  # fmt: skip


def loss_words(batches: list[MonthBatch], odd: bool) -> str:
    """The month's roast loss, and that it raises no doubt."""
    known = [loss_percent(one.green_g, one.roasted_g) for one in batches if one.green_g and one.roasted_g]
    if not known:
        return _("No roast loss was written down.")
    said = _("%(loss)s %% on average.", loss=show_value(sum(known) / len(known), 0.1, decimal_mark()))
    return said if odd else said + " " + _("No batch's loss disagrees with its colour.")
