"""A month of a product in words: what the report of the house and the sheet for a customer have in common."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from importlib import metadata

from flask import current_app
from flask_babel import format_date
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.measure import show_percent, show_value
from webapp.store import methods
from webapp.store.kind_months import KindMonth
from webapp.store.months import Month, MonthBatch
from webapp.ui.filters import method_text
from webapp.ui.numbers import decimal_mark
from webapp.ui.verdict_words import kind_word


def month_title(name: str) -> str:
    """`2026-05` as `May 2026`."""
    return format_date(Month(name, "", "").first_day, "LLLL y")


def software() -> str:
    """The version that made the page: the release and the build of its files."""
    try:
        release = metadata.version("drumside")
    except metadata.PackageNotFoundError:
        release = "?"
    return f"{release} ({current_app.config['BUILD']})"


def verdicts(batches: Sequence[MonthBatch]) -> list[tuple[str, str, str, int]]:
    """(verdict, side, words, batches), those that there are, and how many are in band in any case."""
    names = {
        ("inside", ""): _("In band"), ("undecided", ""): _("Too close to call"),
        ("outside", "darker"): _("Out, darker"), ("outside", "lighter"): _("Out, lighter"), ("outside", ""): _("Out"),
        ("incomplete", ""): _("Not read, or only in part"), ("unjudged", ""): _("No band"),
    }  # fmt: skip
    there = Counter((one.verdict, one.side or "" if one.verdict == "outside" else "") for one in batches)
    return [(*key, name, there[key]) for key, name in names.items() if there[key] or key == ("inside", "")]


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


def remarks_of(lines: Sequence) -> tuple[str, ...]:
    """The remarks of all kinds (lines with .kind and .remarks), each with the kinds that it is about, unless it is
    about all of them."""
    found: dict[str, list[str]] = {}
    for one in lines:
        for text in one.remarks:
            found.setdefault(text, []).append(kind_word(one.kind))
    return tuple(
        text if len(kinds) == len(lines) else f"{', '.join(kinds)}: {text}" for text, kinds in found.items()
    )
