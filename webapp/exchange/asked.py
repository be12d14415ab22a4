"""What an export was asked for: which sets, in which form, of which days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from flask_babel import gettext as _
from werkzeug.datastructures import MultiDict

from webapp.exchange.csv_files import Style
from webapp.store.export_sets import BY_NAME, ExportSet

FORMS = ("csv", "package", "xlsx", "jsonl", "parquet", "sqlite")
# One file holds every set; the others hold one.
WHOLE = ("package", "xlsx", "sqlite")
STYLES = {"comma_point": (",", "."), "semicolon_comma": (";", ","), "semicolon_point": (";", ".")}


@dataclass(frozen=True)
class Asked:
    """typed: as it stands in the form; problems: (id of a field, message)."""

    wanted: ExportSet
    form: str
    style: Style
    since: str
    until: str
    typed: dict[str, str]
    problems: tuple[tuple[str, str], ...]


def read(args: MultiDict) -> Asked:
    """From the address. What is not there counts as what the form shows at first."""
    usual = {"set": "batches", "form": "csv", "style": "comma_point", "mark": "", "since": "", "until": ""}
    typed = {name: args.get(name, value).strip() for name, value in usual.items()}
    problems = []
    if typed["set"] not in BY_NAME:
        problems.append(("set-field", _("Choose what to take out.")))
    if typed["form"] not in FORMS:
        problems.append(("form-field", _("Choose a kind of file.")))
    if typed["style"] not in STYLES:
        problems.append(("style-field", _("Choose how numbers are written.")))
    days = {name: _day(typed[name]) for name in ("since", "until")}
    problems += [
        (f"{name}-field", _("Write a day as year, month, day: 2026-05-14.")) for name in days if days[name] is None
    ]
    if days["since"] and days["until"] and days["since"] > days["until"]:
        problems.append(("until-field", _("The last day lies before the first one.")))
    style = Style(*STYLES.get(typed["style"], (",", ".")), mark=bool(typed["mark"]))
    return Asked(
        BY_NAME.get(typed["set"], BY_NAME["batches"]), typed["form"], style, days["since"] or "", days["until"] or "",
        typed, tuple(problems),
    )  # fmt: skip


def _day(text: str) -> str | None:
    """The day as it is stored, '' for none, None for what is no day."""
    if not text:
        return ""
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        return None
