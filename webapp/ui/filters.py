"""Template filters and globals shared by the features: times, numbers, shades."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from flask import Flask, g
from flask_babel import format_date, get_locale, gettext

from webapp.measure import show_value
from webapp.store import times
from webapp.ui import fields
from webapp.ui.default_methods import default_texts
from webapp.ui.goes_wrong import goes_wrong
from webapp.ui.numbers import decimal_mark


def site_zone() -> ZoneInfo:
    """The site's time zone (UTC before the first set-up)."""
    return ZoneInfo(g.site.time_zone if g.get("site") else "UTC")


def clock(text: str) -> str:
    """Stored time -> `07:42` at the site."""
    return times.from_text(text).astimezone(site_zone()).strftime("%H:%M")


def day_and_clock(text: str) -> str:
    """Stored time -> `14 May 2026, 07:42` at the site."""
    moment = times.from_text(text).astimezone(site_zone())
    return f"{format_date(moment.date(), 'd MMM y')}, {moment:%H:%M}"


def day_of(text: str) -> str:
    """Stored time -> `14 May 2026` at the site."""
    return format_date(times.from_text(text).astimezone(site_zone()).date(), "d MMM y")


def day_long(day: str) -> str:
    """`2026-05-14` -> `Thursday 14 May`."""
    return format_date(date.fromisoformat(day), "EEEE d MMMM")


def shade(value: float, lower: float, upper: float, lighter: int) -> str:
    """A brown between dark and light along the scale, as `#rrggbb`: an illustration, it measures nothing."""
    share = min(1.0, max(0.0, (value - lower) / (upper - lower)))
    if lighter < 0:
        share = 1 - share
    dark, light = (0x24, 0x15, 0x0E), (0xC2, 0x93, 0x5E)
    return "#" + "".join(f"{round(d + (b - d) * share):02x}" for d, b in zip(dark, light, strict=True))


def clock_s(text: str) -> str:
    """Stored time -> `07:42:05` at the site."""
    return times.from_text(text).astimezone(site_zone()).strftime("%H:%M:%S")


def one_decimal(number: float) -> str:
    """A number to one decimal, in the page's language."""
    return show_value(number, 0.1, decimal_mark())


def two_decimals(number: float) -> str:
    """A number to two decimals, in the page's language: a mean deviation is finer than the scale's step."""
    return show_value(number, 0.01, decimal_mark())


def N_(text: str) -> str:
    """Marks a text for translation without translating it."""
    return text


# What the ledger may say of a batch, for the translators; the ledger itself keeps English.
ACTIONS = (
    N_("batch started"),
    N_("whole-bean sample stored"),
    N_("ground sample stored"),
    N_("reading corrected"),
    N_("look-back: accepted"),
    N_("look-back: held"),
    N_("look-back: reread"),
    N_("decision: release"),
    N_("decision: hold"),
    N_("decision: reject"),
    N_("decision: concession"),
    N_("decision: remeasure"),
    N_("decision: blend"),
    N_("trial blend planned"),
    N_("countersigned"),
    N_("person claimed without a PIN"),
    N_("claim confirmed by PIN"),
)


def action_word(action: str) -> str:
    """A ledger line's action in the page's language (the ledger keeps English)."""
    return gettext(action)


def method_text(text: str) -> str:
    """A stored text of a method in the page's language, where it is one that came with the app; else as it is."""
    return gettext(text) if text and text in default_texts() else text


def merge(first: dict, second: dict) -> dict:
    """Both dicts as one: Jinja has no syntax for it."""
    return first | second


def init_app(app: Flask) -> None:
    """Register them."""
    app.jinja_env.filters.update(
        clock=clock,
        clock_s=clock_s,
        day_and_clock=day_and_clock,
        day_long=day_long,
        day_of=day_of,
        one_decimal=one_decimal,
        two_decimals=two_decimals,
        method_text=method_text,
        merge=merge,
        goes_wrong=goes_wrong,
    )
    app.jinja_env.globals.update(shade=shade, action_word=action_word, get_locale=get_locale)
    fields.init_app(app)
