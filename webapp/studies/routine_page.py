"""What the page of routine precision shows: every method's months against its study, and whose readings disagreed.

Everything is in scale units; templates/studies/routine.html says it in words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal
from zoneinfo import ZoneInfo

from flask_babel import format_date
from sqlite_utils import Database

from webapp.measure import Sigmas, show_value
from webapp.measure import routine as rules
from webapp.measure.spread import LEAST_DF_FILLS, LEAST_DF_READINGS
from webapp.store import gear, methods, precision, routine, spreads
from webapp.store.gear import Scale
from webapp.store.methods import MethodVersion
from webapp.store.routine import OfPerson, Spread
from webapp.ui.axes import round_step
from webapp.ui.numbers import decimal_mark

MONTHS, LEAST_MONTHS = 12, 6
WIDTH, HEIGHT = 560, 208
LEFT, RIGHT, TOP, BOTTOM = 62, 550, 14, 164

What = Literal["readings", "fills"]
Source = Literal["study", "routine", "assumed"]


@dataclass(frozen=True)
class Month:
    """A month's spread of one method version: of the readings of a fill, and of the fills of a sample.

    `expected`: what each is expected to scatter by, in a month with so many readings of a fill; None where there is
    nothing to compare with.
    """

    month: str
    spread: Spread
    readings: rules.Judged
    fills: rules.Judged
    expected: dict[What, float | None]


@dataclass(frozen=True)
class Against:
    """What a method version's months are compared with; `study_id` and the rest are None unless a study gave them.

    `sources`: of the readings' scatter and of the fills'; 'routine': a month is compared with all the others. `since`:
    when the study was accepted, as stored.
    """

    sigmas: Sigmas
    sources: dict[What, Source]
    everything: Spread
    study_id: str | None = None
    since: str | None = None
    df_r: float | None = None
    df_f: float | None = None


@dataclass(frozen=True)
class Dot:
    """A month on the chart: where it stands, what is expected, its limit; None without a number. word: as judged."""

    x: float
    y: float | None
    expected: float | None
    limit: float | None
    word: str


@dataclass(frozen=True)
class Chart:
    """One of a panel's two charts in units of its viewBox. `months` and `ticks`: (place, text)."""

    dots: tuple[Dot, ...]
    months: tuple[tuple[float, str], ...]
    ticks: tuple[tuple[float, str], ...]


@dataclass(frozen=True)
class Panel:
    """A method version on a scale with the months in which it was used, the oldest first."""

    version: MethodVersion
    scale: Scale
    against: Against
    months: tuple[Month, ...]
    charts: dict[What, Chart]

    @property
    def wide(self) -> list[tuple[Month, What]]:
        """The months that lie beyond a limit, and by what."""
        return [(m, what) for m in self.months for what in ("readings", "fills") if getattr(m, what).word == "wide"]

    @property
    def judged(self) -> bool:
        """Whether there was enough work in any month."""
        return any(it.word != "few" for month in self.months for it in (month.readings, month.fills))

    def number(self, value: float | None) -> str:
        """A standard deviation, finer than the scale's step by one digit."""
        return "–" if value is None else show_value(value, self.scale.step / 1000, decimal_mark())


@dataclass(frozen=True)
class Share:
    """In how many of somebody's samples by one method the readings of a fill disagreed. person: None: everybody."""

    person: OfPerson | None
    version: MethodVersion
    scale: Scale
    spread: Spread
    judged: rules.JudgedRate

    @property
    def key(self) -> tuple[str, str, str]:
        """What stands together: a method on a scale, in the order of names."""
        return self.version.name, self.scale.name, self.version.method_id

    @property
    def most(self) -> int:
        """How many of them chance explains."""
        return round((self.judged.limit or 0) * self.spread.samples)


@dataclass(frozen=True)
class Page:
    """All of it, methods in the order of their names, newer versions first."""

    panels: list[Panel]
    shares: list[Share]
    this_month: str

    @property
    def wide(self) -> list[tuple[Panel, Month, What]]:
        """Every month beyond a limit, the newest first."""
        found = [(panel, *one) for panel in self.panels for one in panel.wide]
        return sorted(found, key=lambda one: one[1].month, reverse=True)

    @property
    def often(self) -> list[Share]:
        """Persons whose readings disagreed more often than by chance."""
        return [share for share in self.shares if share.person and share.judged.word == "often"]


def gather(db: Database, now: datetime, zone: str, only: str | None) -> Page:
    """The last twelve months. `only`: the one person whose share is shown beside everybody's; None: each person's."""
    names = last_months(now.astimezone(ZoneInfo(zone)).date())
    found: dict[tuple[str, str], list[routine.Month]] = {}
    for month in routine.list_months(db, names[0]):
        found.setdefault((month.method_version_id, month.scale_id), []).append(month)
    first = min((month.month for taken in found.values() for month in taken), default=names[-1])
    drawn = names[min(names.index(first), MONTHS - LEAST_MONTHS) :]
    panels = [panel(db, drawn, *key, taken) for key, taken in found.items()]
    panels.sort(key=lambda p: (p.version.name, p.scale.name, -p.version.no))
    return Page(panels, shares(db, panels, routine.list_persons(db, names[0]), only), names[-1])


def last_months(today: date) -> list[str]:
    """The twelve months up to this one, the oldest first."""
    last = today.year * 12 + today.month - 1
    return [f"{n // 12}-{n % 12 + 1:02d}" for n in range(last - MONTHS + 1, last + 1)]


def against(db: Database, version: MethodVersion, scale: Scale) -> Against:
    """The sigmas that results by this version get now."""
    sigmas = spreads.sigmas_for(db, version.id, scale.id, version.kind, (scale.upper - scale.lower) / 100)
    everything = routine.all_months(db, version.id, scale.id)
    if study := precision.accepted_for(db, version.id, scale.id):
        found = study.study_id, study.made_at, study.df_r, study.df_f
        return Against(sigmas, {"readings": "study", "fills": "study"}, everything, *found)
    proven = {"readings": everything.df_r >= LEAST_DF_READINGS, "fills": everything.df_f >= LEAST_DF_FILLS}
    return Against(sigmas, {what: "routine" if yes else "assumed" for what, yes in proven.items()}, everything)


def panel(db: Database, names: list[str], version_id: str, scale_id: str, taken: list[routine.Month]) -> Panel:
    """One method version on one scale."""
    version, scale = methods.get_version(db, version_id), gear.get_scale(db, scale_id)
    known = against(db, version, scale)
    months = tuple(judged(month, known, scale.step / 100) for month in taken)
    charts = {what: chart(names, months, what) for what in ("readings", "fills")}
    return Panel(version, scale, known, months, charts)


def judged(month: routine.Month, known: Against, step: float) -> Month:
    """A month against the study of its method version, all other months, or what is assumed."""
    it, sigmas, rest = month.spread, known.sigmas, known.everything.without(month.spread)
    each = max(1.0, it.readings / it.fills)
    expected: dict[What, float | None] = {
        "readings": sigmas.sigma_r, "fills": rules.fill_value_sigma(sigmas.sigma_r, sigmas.sigma_f, each),
    }  # fmt: skip
    sure = None
    if known.df_r and (known.df_f or not sigmas.sigma_f):
        sure = rules.fill_value_df(sigmas.sigma_r, known.df_r, sigmas.sigma_f, known.df_f or 0.0, each)
    if known.sources["readings"] == "routine":
        readings = rules.judge_beside(it.ss_r, it.df_r, rest.ss_r, rest.df_r, step)
        expected["readings"] = math.sqrt(rest.ss_r / rest.df_r) if rest.df_r >= rules.LEAST_DF else None
    else:
        readings = rules.judge(it.ss_r, it.df_r, sigmas.sigma_r, known.df_r or None, step)
    if known.sources["fills"] == "routine":
        fills = rules.judge_beside(it.ss_f, it.df_f, rest.ss_f, rest.df_f, step)
        expected["fills"] = math.sqrt(rest.ss_f / rest.df_f) if rest.df_f >= rules.LEAST_DF else None
    else:
        fills = rules.judge(it.ss_f, it.df_f, expected["fills"], sure, step)
    return Month(month.month, it, readings, fills, expected)


def chart(names: list[str], months: tuple[Month, ...], what: What) -> Chart:
    """The months in their places. Limits are drawn where they judge."""
    drawn = []
    for month in months:
        it: rules.Judged = getattr(month, what)
        drawn.append((month.month, it.word, it.sd, month.expected[what], None if it.word == "few" else it.limit))
    top = 1.12 * max([v for row in drawn for v in row[2:] if v is not None] + [1e-6])
    tick = round_step(1.5 * top, 0.0)

    def y(value: float | None) -> float | None:
        return None if value is None else round(BOTTOM - value / top * (BOTTOM - TOP), 1)

    def x(no: int) -> float:
        return round(LEFT + (no + 0.5) * (RIGHT - LEFT) / len(names), 1)

    return Chart(
        tuple(Dot(x(names.index(name)), *map(y, numbers), word) for name, word, *numbers in drawn),
        tuple((x(no), month_name(name, "LLL")) for no, name in enumerate(names)),
        tuple((y(n * tick), show_value(n * tick, tick, decimal_mark())) for n in range(math.floor(top / tick) + 1)),
    )  # fmt: skip


def month_name(month: str, shape: str = "LLLL y") -> str:
    """`2026-05` in the page's language."""
    return format_date(date.fromisoformat(f"{month}-01"), shape)


def shares(db: Database, panels: list[Panel], people: list[OfPerson], only: str | None) -> list[Share]:
    """Everybody's share by method and scale, then each person's, or that of `only`."""
    newest: dict[tuple[str, str], Panel] = {}
    for it in panels:
        newest.setdefault((it.version.method_id, it.scale.id), it)
    found = []
    for key, it in newest.items():
        of_method = [p for p in people if (p.method_id, p.scale_id) == key]
        everybody = Spread(*(sum(column) for column in zip(*(vars(p.spread).values() for p in of_method), strict=True)))
        shown = [(None, everybody), *((p, p.spread) for p in of_method if only in (None, p.person_id))]
        found += [
            Share(person, it.version, it.scale, spread,
                  rules.judge_rate(spread.disagreeing, spread.samples, spread.fills))
            for person, spread in shown
        ]  # fmt: skip
    return found
