"""What the pages of a file that is being taken in show."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.exchange import import_choices, import_file, import_text
from webapp.exchange import import_words as words
from webapp.exchange.csv_files import harmless
from webapp.exchange.import_cells import Row
from webapp.exchange.import_choices import Chosen, Problems
from webapp.exchange.import_columns import KIND_OF, said_by
from webapp.exchange.import_look import Look
from webapp.exchange.import_rows import LEFT_OUT, Problem, folded, read_all
from webapp.store import gear, imports
from webapp.store.imports import Counts, Draft, NewRow
from webapp.ui.filters import method_text

FIRST, PAGE = 10, 100
Options = list[tuple[str, str]]


def said(problems: Problems) -> list[tuple[str, str]]:
    """(id of the field on the page, message)."""
    return [(f"{field}-field", words.choice_fault(code)) for field, code in problems]


def ways_of_reading(draft: Draft) -> dict:
    """What can be chosen about how a file of text is read, with words that each way of writing reads differently."""
    reading = draft.choices["reading"]
    if reading["what"] == "workbook":
        sheets = [(str(no), _("%(sheet)s (%(num)d rows)", sheet=name, num=rows))
                  for no, (name, rows) in enumerate(reading["sheets"])]  # fmt: skip
        return {"sheets": sheets}
    encodings = []
    for encoding in reading["possible"]:
        odd = [] if reading["encoding_sure"] else import_text.odd_words(draft.content, encoding)
        encodings.append((encoding, words.encoding_words()[encoding] + (f": {', '.join(odd)}" if odd else "")))
    return {"encodings": encodings, "delimiters": list(words.delimiter_words().items())}


@dataclass(frozen=True)
class ColumnView:
    """A column as it is asked about. hint: what was found in all of its values."""

    no: int
    name: str
    letters: str
    look: Look
    target: str
    kind: str | None
    style: str
    styles: Options
    unit: str
    units: Options
    hint: str


def column_views(chosen: Chosen) -> list[ColumnView]:
    """Every column."""
    matched = chosen.columns
    return [
        _column_view(chosen, no, name, look, matched.get(no, ""))
        for no, (name, look) in enumerate(zip(chosen.at["names"], chosen.looks, strict=True))
    ]  # fmt: skip


def _column_view(chosen: Chosen, no: int, name: str, look: Look, target: str) -> ColumnView:
    kind = KIND_OF.get(target)
    styles = {
        "day": words.day_words(), "duration": words.duration_words(), None: {},
    }.get(kind, words.decimal_words())  # fmt: skip
    units = {unit: words.unit_words()[unit] for unit in import_choices.UNIT.get(kind, ())}
    return ColumnView(
        no, name, import_file.letters(no), look, target, kind, chosen.style(no), _counted(kind, look, styles),
        chosen.unit(no), list(units.items()), _hint(kind, look),
    )  # fmt: skip


def _counted(kind: str | None, look: Look, styles: dict[str, str]) -> Options:
    """Days with how many of the values fit each style, the others as they are."""
    if kind != "day":
        return list(styles.items())
    fits = look.day_fits()
    return [
        (style, _("%(style)s (fits %(num)d of %(all)d)", style=text, num=fits.get(style, 0), all=look.written_days))
        for style, text in styles.items() if fits.get(style) or not look.written_days
    ] or list(styles.items())  # fmt: skip


def _hint(kind: str | None, look: Look) -> str:
    if kind == "day" and look.count("date") and look.written_days:
        return _("Some are true dates, others text. Often these are dates in which a spreadsheet took days for months:"
                 " look at the source.")  # fmt: skip
    if kind == "day" and look.written_days and look.day is None:
        return _("These days can be read in more than one way, or none fits all of them.")
    if kind in ("mass", "temperature", "reading") and look.decimal is None:
        point, comma = look.lone["point"], look.lone["comma"]
        if point and comma:
            return _("Both are there: %(point)d with a point, %(comma)d with a comma.", point=point, comma=comma)
        return _("Every mark could be one between thousands. Marks between thousands cannot be taken.")
    return ""


def numbers_page(chosen: Chosen, db: Database) -> dict:
    """What can be chosen on the second page."""
    found: dict = {"columns": [view for view in column_views(chosen) if view.kind], "kinds": []}
    meters = [(m.id, f"{m.name}, {m.scale.name}") for m in gear.list_meters(db, active_only=False)]
    for kind in chosen.kinds():
        versions = [(v.id, _version_words(v)) for v in import_choices.versions(db, kind)]
        found["kinds"].append({
            "kind": kind, "name": words.kind_words()[kind], "columns": len(chosen.of(kind)),
            "average": chosen.average(kind), "meters": meters, "methods": versions,
            "meter": chosen.at["meters"].get(kind) or only(meters),
            "method": chosen.at["methods"].get(kind) or only(versions),
            "says_average": bool(_averages(chosen, kind)),
        })  # fmt: skip
    products, machines = import_choices.product_names(db), import_choices.machine_names(db)
    found["machines"] = list(machines.names.items())
    found["unmatched"] = [
        _unmatched(chosen, "product", products, chosen.at["products"], _("Products")),
        _unmatched(chosen, "machine", machines, chosen.at["machines"], _("Machines")),
    ]
    return found


def only(options: Options) -> str:
    """The choice that is none, since there is no other; '' where there are several."""
    return options[0][0] if len(options) == 1 else ""


def _averages(chosen: Chosen, kind: str) -> bool:
    return any(said_by(chosen.at["names"][no]).average for no in chosen.of(kind))


def _version_words(version) -> str:
    name = _("%(method)s, version %(no)d", method=method_text(version.name), no=version.no)
    return f"{name} ({version.grinder_name}, {version.setting_name})" if version.setting_name else name


def _unmatched(chosen: Chosen, target: str, known, given: dict[str, str], title: str) -> dict:
    values, names = chosen.look(target).values or [], chosen.unmatched(target, known)
    options = [*known.names.items(), (LEFT_OUT, _("Leave these rows out"))]
    return {
        "target": target, "title": title, "options": options,
        "names": [(values.index(name), name, given.get(folded(name), "")) for name in names or []],
        "too_many": names is None and bool(chosen.of(target)),
    }  # fmt: skip


@dataclass
class Preview:
    """What would become of a file. first: the first rows as they will be stored; problems: one page of them, each with
    its words and its column's name; problem_count: of all pages; with_readings: rows taken that have a reading."""

    taken: int = 0
    known: int = 0
    refused: int = 0
    first: list[NewRow] = field(default_factory=list)
    problems: list[tuple[Problem, str, str]] = field(default_factory=list)
    problem_count: int = 0
    no: int = 1

    @property
    def counts(self) -> Counts:
        """As they are compared when the file is taken in."""
        return Counts(self.taken, self.known, self.refused)

    @property
    def pages(self) -> int:
        """How many pages of problems there are."""
        return max(1, -(-self.problem_count // PAGE))


def judged(
    draft: Draft, chosen: Chosen, db: Database, zone: str, now: datetime
) -> Iterator[tuple[Row, NewRow | None, list[Problem], str]]:
    """Each row, what it would be stored as, what is wrong with it, and new, known or other."""
    setup = import_choices.setup(chosen, db, zone, now)
    for row, new, problems in read_all(setup, rows_of(draft, chosen)):
        word = imports.standing(db, new) if new else "other"
        if new and word == "other":
            column = setup.one("code")
            problems = [Problem(row[0], column, row[1][column], "other", {"code": new.code})]
        yield row, new, problems, word


def rows_of(draft: Draft, chosen: Chosen) -> Callable[[], Iterable[Row]]:
    """A way to begin the file's rows anew."""
    return lambda: import_file.data_rows(draft.content, chosen.at["reading"], chosen.table)


def preview(draft: Draft, chosen: Chosen, db: Database, zone: str, now: datetime, page: int) -> Preview:
    """Go through the whole file."""
    found, names = Preview(no=page), chosen.at["names"]
    for _row, new, problems, word in judged(draft, chosen, db, zone, now):
        if word == "new":
            found.taken += 1
            if len(found.first) < FIRST:
                found.first.append(new)
        elif word == "known":
            found.known += 1
        else:
            found.refused += 1
        for problem in problems:
            if (page - 1) * PAGE <= found.problem_count < page * PAGE:
                found.problems.append((problem, column_name(names, problem), words.problem_text(problem)))
            found.problem_count += 1
    return found


def column_name(names: list[str], problem: Problem) -> str:
    """The name of the column that a problem is in; '' for the row as a whole."""
    return names[problem.column] if problem.column is not None and problem.column < len(names) else ""


def refused_rows(draft: Draft, chosen: Chosen, db: Database, zone: str, now: datetime) -> bytes:
    """The refused rows as CSV, with what is wrong before them: to be mended there and taken in again. Safe to open in a
    spreadsheet, as every file of ours."""
    text, names = io.StringIO(newline=""), chosen.at["names"]
    text.write("\ufeff")
    lines = csv.writer(text, lineterminator="\r\n")
    lines.writerow([_("Row"), _("What is wrong"), *map(harmless, names)])
    for row, _new, problems, word in judged(draft, chosen, db, zone, now):
        if word == "other":
            told = [(column_name(names, problem), words.problem_text(problem)) for problem in problems]
            reasons = "; ".join(f"{column}: {reason}" if column else reason for column, reason in told)
            lines.writerow([row[0], harmless(reasons), *(harmless(str(cell)) for cell in row[1])])
    return text.getvalue().encode()
