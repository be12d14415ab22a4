"""What an export was asked for: which sets, in which form, of which days."""

from __future__ import annotations

from dataclasses import dataclass

from flask_babel import gettext as _
from werkzeug.datastructures import MultiDict

from webapp.exchange.csv_files import Style
from webapp.store.export_sets import BY_NAME, ExportSet
from webapp.ui.spans import read_span

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
    span = read_span(typed["since"], typed["until"])
    problems += span.problems
    style = Style(*STYLES.get(typed["style"], (",", ".")), mark=bool(typed["mark"]))
    return Asked(
        BY_NAME.get(typed["set"], BY_NAME["batches"]), typed["form"], style, span.since, span.until, typed,
        tuple(problems),
    )  # fmt: skip

