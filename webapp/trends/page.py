"""Everything on a trend's page, worked out beforehand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from flask import url_for
from flask_babel import format_date, ngettext
from flask_babel import gettext as _
from markupsafe import Markup

from webapp.measure import show_give_or_take, show_value
from webapp.store import times
from webapp.store.products import Product
from webapp.store.signal_notes import Note
from webapp.store.trends import Kind, TrendPoint
from webapp.trends import baseline_find, chart, drawing, limit_words, roast, words
from webapp.trends.run import Event, Looked, Signalled
from webapp.ui.cause_words import note_words
from webapp.ui.numbers import decimal_mark
from webapp.ui.verdict_words import kind_word

# So many signals are told, the newest; the table has all.
TOLD = 8


@dataclass(frozen=True)
class Told:
    """What fired at one batch to one side, as text. fired: (the rule's number, '~' for the running mean, and what it
    says); url: of the batch; state: 'open', 'closed', or '' while nobody has said anything; note: what was said;
    notes_url: where it is said."""

    fired: tuple[tuple[str, str], ...]
    day: str
    code: str
    url: str
    near: tuple[str, ...]
    now: bool
    state: str
    note: str
    notes_url: str


@dataclass(frozen=True)
class Row:
    """A line of the table: a batch, or all of a day, week or month. Texts; fired: the rules that fired here."""

    when: str
    day_url: str
    name: str
    url: str
    value: str
    give: str
    reach: str
    moving: str
    batches: int
    verdict: str
    side: str
    proven: bool
    person: str
    machine: str
    lot: str
    fired: str
    waits: bool


@dataclass(frozen=True)
class Page:
    """The page. pictures: (size, SVG, what its marks are where they are not batches) for a wide and a slim place;
    events: (letter, day, words); able: (name, words, what it means); answers of the colour to the roast on a machine:
    (what it does, what would bring the colour back); judged: by which limits; older: how many signals are not told;
    earlier: (what fired, day and batch, what was said, where) of signals that fire no more; can_freeze:
    so many steady batches that a lead may freeze limits; beside: what was read otherwise (words, where it is shown)."""

    it: Looked
    said: words.Said
    pictures: tuple[tuple[str, Markup, str], ...]
    told: tuple[Told, ...]
    events: tuple[tuple[str, str, str], ...]
    alarms: tuple[str, ...]
    able: tuple[tuple[str, str, str], ...]
    each: str
    rows: tuple[Row, ...]
    spots: bool = False
    answers: tuple[tuple[str, str], ...] = ()
    machine: str = ""
    judged: str = ""
    older: int = 0
    earlier: tuple[tuple[str, str, str, str], ...] = ()
    can_freeze: int = 0
    beside: tuple[tuple[str, str], ...] = ()


def make(it: Looked, product: Product, kind: Kind, args: dict[str, str] | None = None) -> Page:
    """The page of a run; without a point only what is said. args: what narrows it, as it stands in the address."""
    links = signal_links(product.id, kind, args or {})
    together = [list(same) for _where, same in groupby(it.signals, key=lambda one: (one.point, one.side))]
    told = tuple(tell(it, same, links) for same in together[:TOLD])
    said = words.advice_words(it, it.standing)
    if not it.trend.points:
        return Page(it, said, (), (), (), (), (), "batch", ())
    handed = drawing.Words(label_one(it), label_many(it), words.day_short, batch_url, day_url)
    sizes = drawing.in_sizes(it.trend.points, lambda along: [drawing.panel(it, kind, "", along, handed)])
    drawn = [drawing.stack(panels, along, it.trend.points, it.events, handed) for along, panels in sizes]
    wide = sizes[0][0]
    title = f"{product.name}, {kind_word(kind)}"
    try:
        text = in_words(len(it.values), f"{said.title} {said.reason}")
        pictures = tuple((one.size, svg(one, title, text), words.each_words(one.each)) for one in drawn)
    except chart.NoPicture:
        pictures = ()
    return Page(
        it, said, pictures, told,
        tuple((letter, words.day_of_time(event.at, it.years), words.event_words(event))
              for letter, event in zip(drawing.letters(it.events), it.events, strict=True)),
        tuple(limit_words.alarms_words(it)) if it.limits and it.limits.frozen else (), able(it), drawn[0].each,
        tuple(rows(it, wide, drawn[0].panels[0])), drawn[0].spots,
        tuple((words.answer_words(one, it), words.change_words(one, it)) for one in roast.answers(it)),
        it.trend.points[-1].machine_name, limit_words.judged_words(it),
        sum(map(len, together[TOLD:])), tuple(tell_earlier(note, links) for note in it.earlier[:TOLD]),
        0 if set(args or ()) - {"newest"} else baseline_find.can_freeze(it),
        beside(it, product.id, kind),
    )  # fmt: skip


def beside(it: Looked, product_id: str, kind: Kind) -> tuple[tuple[str, str], ...]:
    """What was read otherwise, and where it is shown; '' for where it cannot be chosen."""
    versions = {one.method_version_id for one in it.trend.beside} - {it.trend.method_version_id}
    urls = {one: url_for("trends.trend", product_id=product_id, kind=kind, version=one) for one in versions}
    return tuple((words.beside_words(one, it), urls.get(one.method_version_id, "")) for one in it.trend.beside)


def svg(drawn: drawing.Drawing, title: str, text: str) -> Markup:
    """The picture for a template."""
    return Markup(chart.picture(drawn, title, text, (_("lighter"), _("darker")), decimal_mark()))


def in_words(batches: int, said: str) -> str:
    """What the picture shows, for who does not see it."""
    many = ngettext("%(num)d batch in the order of roasting.", "%(num)d batches in the order of roasting.", batches)
    return " ".join((many, said, _("The same numbers stand in the table below.")))


def shown(it: Looked, value: float) -> str:
    """A value to the scale's step."""
    return show_value(value, it.scale.step / 100, decimal_mark())


def batch_url(point: TrendPoint) -> str:
    """Where a batch's result is."""
    return url_for("bench.result", batch_id=point.batch_id)


def day_url(point: TrendPoint) -> str:
    """The strip of the day of a batch."""
    return url_for("strip.day", day=point.day)


def label_one(it: Looked):
    """What a batch's mark says."""

    def label(point: TrendPoint) -> str:
        said = [f"{point.code}, {words.day_of_time(point.roasted_at, it.years)}: {shown(it, point.value)}"]
        said += [_("meter not proven")] * (not point.proven)
        said += [_("not countersigned")] * (point.batch_id in it.waiting)
        return "; ".join(said)

    return label


def label_many(it: Looked):
    """What the mark of several batches says."""

    def label(points: list[TrendPoint]) -> str:
        values = [point.value for point in points]
        return _(
            "%(day)s: %(many)d batches, %(low)s to %(high)s", day=words.day_short(points[0].day, it.years),
            many=len(points), low=shown(it, min(values)), high=shown(it, max(values)),
        )  # fmt: skip

    return label


def signal_links(product_id: str, kind: Kind, args: dict[str, str]):
    """(batch id, side) -> the address of the signal's page, which looks at the same batches."""

    def url(batch_id: str, side: str) -> str:
        return url_for(
            "trends.signal", product_id=product_id, kind=kind, batch_id=batch_id, toward=side, **args
        )

    return url


def tell_earlier(note: Note, links) -> tuple[str, str, str, str]:
    """A signal that was noted and fires no more."""
    when = f"{words.day_of_time(note.roasted_at)}, {note.code}"
    said = words.rule_words(note.rule, note.side == "lighter")
    return said, when, note_words(note), links(note.batch_id, note.side)


def tell(it: Looked, same: list[Signalled], links) -> Told:
    """What fired at a batch to one side, with what is known of its time."""
    ordered = sorted(same, key=lambda signal: (signal.rule == 0, signal.rule))
    one = next((signal for signal in ordered if signal == it.standing), ordered[0])
    point = it.trend.points[one.point]
    return Told(
        tuple((str(signal.rule or "~"), words.signal_words(signal)) for signal in ordered),
        words.day_of_time(point.roasted_at, it.years), point.code, batch_url(point),
        tuple(dict.fromkeys(near(event, it.years) for signal in same for event in signal.near)), it.standing in same,
        "" if one.note is None else "closed" if one.closed else "open",
        note_words(one.note) if one.note else "", links(point.batch_id, one.side),
    )  # fmt: skip


def near(event: Event, years: bool = False) -> str:
    """An event with its day."""
    return f"{words.day_of_time(event.at, years)}: {words.event_words(event)}"


def able(it: Looked) -> tuple[tuple[str, str, str], ...]:
    """What the process can hold: names of the indices with what they mean in plain words."""
    found = it.capability
    if found is None:
        return ()
    lines = [
        (_("In band"), words.share_words(it), _("so many of these batches; in brackets what share that speaks for")),
        ("Cp", words.index_words(found.cp), _("the band's width, against what varies from one batch to the next")),
        ("Cpk", words.index_words(found.cpk), _("the way to the nearer limit, against the same")),
        ("Pp", words.index_words(found.pp), _("the band's width, against all that varied, drifts and steps included")),
        ("Ppk", words.index_words(found.ppk), _("the way to the nearer limit, against all that varied")),
    ]
    return tuple(line for line in lines if line[1])


def rows(it: Looked, along: drawing.Axis, panel: drawing.Panel) -> list[Row]:
    """The numbers of the wide picture, newest first."""
    fired = fired_at(panel)
    return [row(it, mark, along.groups[mark.x], fired) for mark in reversed(panel.marks)]


def fired_at(panel: drawing.Panel) -> dict[int, list[str]]:
    """Place -> the rules that fired there."""
    fired: dict[int, list[str]] = {}
    for x, _value, rule in panel.signals:
        fired.setdefault(x, []).append(rule)
    return {x: [often(rule, rules.count(rule)) for rule in dict.fromkeys(rules)] for x, rules in fired.items()}


def often(rule: str, times: int) -> str:
    """A rule's number, and how often it fired in a day, week or month."""
    return rule if times == 1 else f"{rule} ({times})"


def row(it: Looked, mark: drawing.Mark, points: Sequence[TrendPoint], fired: dict[int, list[str]]) -> Row:
    """One mark as text."""
    first, single = points[0], len(points) == 1
    step = it.scale.step / 100
    day = format_date(times.day_bounds(first.day, "UTC")[0].date(), "d MMM y")
    return Row(
        day, day_url(first), first.code if single else "", mark.url, shown(it, mark.value),
        show_give_or_take(2 * first.u, step, decimal_mark()) if single else "",
        "" if single else _("%(low)s to %(high)s", low=shown(it, mark.low), high=shown(it, mark.high)),
        "" if mark.moving is None else shown(it, mark.moving), len(points), mark.state, mark.side, mark.proven,
        first.person_name if single else "", first.machine_name if single else "", first.lot if single else "",
        " ".join(fired.get(mark.x, [])), single and first.batch_id in it.waiting,
    )  # fmt: skip
