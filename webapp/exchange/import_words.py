"""What a file's columns, styles and faults are called on the screen."""

from __future__ import annotations

from flask_babel import gettext as _

from webapp.exchange.import_cells import MOST_BYTES, MOST_COLUMNS, MOST_ROWS
from webapp.exchange.import_rows import Problem
from webapp.ui.numbers import scale_number, shortest


def target_words() -> dict[str, str]:
    """What may stand in a column -> what it is called."""
    return {
        "code": _("Batch code"), "product": _("Product"), "day": _("Day, or day and time"), "time": _("Time of day"),
        "machine": _("Machine"), "lot": _("Green lot"), "green": _("Green mass"), "roasted": _("Roasted mass"),
        "drop": _("Drop temperature"), "total": _("Total time"), "development": _("Development time"),
        "whole": _("Whole bean, a number"), "ground": _("Ground, a number"), "note": _("Note"),
    }  # fmt: skip


def kind_words() -> dict[str, str]:
    """Kind -> its name."""
    return {"whole": _("Whole bean"), "ground": _("Ground")}


def decimal_words() -> dict[str, str]:
    """How decimals are written -> in words."""
    return {"point": _("with a point, 56.2"), "comma": _("with a comma, 56,2")}


def day_words() -> dict[str, str]:
    """How days are written -> in words."""
    return {
        "iso": _("year, month, day: 2026-05-14"), "dmy.": _("day, month, year: 14.5.2026"),
        "dmy/": _("day, month, year: 14/5/2026"), "mdy/": _("month, day, year: 5/14/2026"),
        "dmy-": _("day, month, year: 14-5-2026"), "mdy-": _("month, day, year: 5-14-2026"),
        "serial": _("a spreadsheet’s count of days: 46156"),
    }  # fmt: skip


def unit_words() -> dict[str, str]:
    """Unit -> in words."""
    return {
        "kg": _("kilograms"), "g": _("grams"), "lb": _("pounds"), "C": _("degrees Celsius"),
        "F": _("degrees Fahrenheit"),
    }  # fmt: skip


def duration_words() -> dict[str, str]:
    """How durations are written -> in words."""
    return {
        "mss": _("minutes and seconds, 11:30 or 0:11:30"), "seconds": _("seconds, 690"),
        "hmm": _("11:30:00, as a spreadsheet makes it of 11:30"),
    }  # fmt: skip


def delimiter_words() -> dict[str, str]:
    """What stands between cells -> in words."""
    return {",": _("a comma"), ";": _("a semicolon"), "\t": _("a tab"), "|": _("an upright line")}


def encoding_words() -> dict[str, str]:
    """How letters are written -> in words."""
    return {
        "utf-8": _("Unicode (UTF-8)"), "utf-8-sig": _("Unicode (UTF-8)"), "utf-16": _("Unicode (UTF-16)"),
        "cp1252": _("Windows, western Europe"), "iso8859_15": _("ISO 8859-15, western Europe"),
        "mac_roman": _("older Mac"), "cp850": _("DOS, western Europe"),
    }  # fmt: skip


def file_fault(code: str, facts: dict) -> str:
    """Why a file as a whole cannot be looked at, and what to do."""
    csv = _("Open it with the program that made it, and save the sheet as CSV (UTF-8).")
    most = _("At most %(mb)d MB, %(rows)s rows and %(columns)d columns can be taken in at once.",
             mb=MOST_BYTES // 1_000_000, rows=f"{MOST_ROWS:,}".replace(",", " "), columns=MOST_COLUMNS)  # fmt: skip
    known = {
        "no_file": _("Choose the file."),
        "nothing": _("This file has nothing in it: 0 bytes."),
        "empty": _("There is nothing in this file but empty rows."),
        "size": _("This file is too large.") + " " + most,
        "no_text": _("This is not a table.") + " " + _("It can be CSV, text with tabs, or a workbook (XLSX)."),
        "utf32": _("This text is written in UTF-32, which hardly anything reads.") + " " + csv,
        "broken_text": _("This text says that it is Unicode, and is not: some of it was damaged.") + " " + csv,
        "old_workbook": _("This is a workbook of the older kind (XLS).") + " "
        + _("Open it, and save it as XLSX or CSV."),
        "binary_workbook": _("This is a binary workbook (XLSB).") + " " + _("Open it, and save it as XLSX or CSV."),
        "encrypted": _("This workbook is protected with a password.") + " "
        + _("Open it, and save it without one, as XLSX or CSV."),
        "no_workbook": _("This is a ZIP file, and no workbook.") + " "
        + _("Take the table out of it first."),
        "broken_workbook": _("This workbook is damaged: it cannot be read to the end.") + " " + csv,
        "unpacks": _("This workbook is far larger than it looks: it unpacks to more than %(mb)d MB. Nothing was read.",
                     mb=facts.get("most", 0) // 1_000_000) + " " + csv,
    }  # fmt: skip
    return known.get(code) or _row_fault(code, facts, most, csv)


def _row_fault(code: str, facts: dict, most: str, csv: str) -> str:
    line, row = facts.get("line", 0), facts.get("row", 0)
    known = {
        "rows": _("This file has too many rows.") + " " + most,
        "columns": _("Row %(row)d has %(num)d columns.", row=row, num=facts.get("columns", 0)) + " " + most,
        "sheet_rows": _("The sheet “%(sheet)s” has too many rows.", sheet=facts.get("sheet", "")) + " " + most,
        "sheet_columns": _("The sheet “%(sheet)s” has too many columns.", sheet=facts.get("sheet", "")) + " " + most,
        "long_cell": _(
            "A cell of more than %(most)s characters begins in line %(line)d. Most often a quotation mark was opened"
            " there and never closed.", most=f"{facts.get('most', 0):,}".replace(",", " "), line=line,
        ),
        "quotes": _(
            "In line %(line)d a quotation mark opens a cell and is not closed, or something stands behind the one that"
            " closes it. From there on cells cannot be told apart.", line=line,
        ),
        "no_header": _("Row %(row)d is empty or not there: say in which row the headers stand.", row=row),
    }  # fmt: skip
    return known.get(code, csv)


def problem_text(problem: Problem) -> str:
    """What is wrong with a row, and what to do."""
    code, facts = problem.code, problem.facts
    for words in (_number_words, _day_words, _row_words):
        if found := words(code, facts):
            return found
    return _("This cannot be taken.")


def _number_words(code: str, facts: dict) -> str | None:
    places, scale = facts.get("places", 0), facts.get("scale")
    match code:
        case "not_a_number" | "digits":
            return _("This is no number.")
        case "two_marks":
            return _("There is more than one mark in this number. Marks between thousands cannot be taken.")
        case "comma_here":
            return _("This has a comma, while the column is read with a decimal point.")
        case "point_here":
            return _("This has a point, while the column is read with a decimal comma.")
        case "too_fine":
            return (
                _("More decimals than are kept here, which is %(num)d.", num=places) if places
                else _("Whole numbers only.")
            )  # fmt: skip
        case "off_scale" if scale:
            low, high = (scale_number(n, scale.step) for n in (scale.lower, scale.upper))
            return _("Off the scale, which runs from %(low)s to %(high)s.", low=low, high=high)
        case "off_scale":
            return _("This number is too long.")
        case "finer":
            step = shortest(scale.step, 2)
            return _("Finer than the scale, which goes in steps of %(step)s: an average, perhaps?", step=step)
        case "mass_range":
            return _("A mass is more than nothing, and at most %(most)s kg.", most="2000")
        case "temperature_range":
            return _("A temperature lies between −20 and 400 degrees Celsius.")
        case "duration_range":
            return _("A roast takes between a second and two hours.")
        case "not_seconds":
            return _("Not a number of seconds.")
        case "not_mss":
            return _("Not minutes and seconds with a colon, like 11:30.")
        case "hours":
            return _("Hours, minutes and seconds: a roast that long? See how this column is written.")
        case "not_hmm":
            return _("Not like 11:30:00 with no seconds at its end.")
        case "gains":
            return _("Roasted coffee cannot weigh more than the green it came from.")
        case "longer":
            return _("The development cannot be longer than the whole roast.")
    return None


def _day_words(code: str, facts: dict) -> str | None:
    match code:
        case "not_a_day":
            return _("Not a day as this column is read: %(style)s.", style=day_words()[facts["style"]])
        case "no_such_day":
            return _("The calendar has no such day, as this column is read: %(style)s.",
                     style=day_words()[facts["style"]])  # fmt: skip
        case "not_a_time":
            return _("Not a time of day, like 6:58.")
        case "no_time":
            return _("There is no time of day, and none was chosen for rows without one.")
        case "two_times":
            return _("The day has another time with it than the column of times.")
        case "skipped_hour":
            return _("There was no such time that day: the clocks were put forward.")
        case "year":
            return _("Before the year %(year)d: check the year.", year=facts["year"])
        case "future":
            return _("This is still to come: check the day and the time.")
        case "date_code":
            return _("A spreadsheet has made a date of this code. Write the code as text there.")
    return None


def _row_words(code: str, facts: dict) -> str | None:
    match code:
        case "empty":
            return _("Nothing stands here, and a batch needs it.")
        case "formula":
            return _("A formula: what it came to cannot be checked here. Save the sheet as CSV, or paste the value.")
        case "failed":
            return _("A formula that failed.")
        case "unprintable":
            return _("There is a character in this text that cannot be shown.")
        case "long_text":
            return _("More than %(most)d characters.", most=facts["most"])
        case "unknown_product":
            return _("No product of this name, and none was chosen for it.")
        case "unknown_machine":
            return _("No machine of this name, and none was chosen for it.")
        case "left_out":
            return _("Left out, as was chosen for this name.")
        case "no_machine":
            return _("No machine stands here, and none was chosen for rows without one.")
        case "short_row":
            return _("%(num)d cells, where the headers have %(width)d: something is missing in between.",
                     num=facts["cells"], width=facts["width"])  # fmt: skip
        case "long_row":
            return _("%(num)d cells, where the headers have %(width)d: a mark that parts cells stands inside of one.",
                     num=facts["cells"], width=facts["width"])  # fmt: skip
        case "twins":
            rows = ", ".join(map(str, facts["rows"][:5])) + ("…" if len(facts["rows"]) > 5 else "")
            return _("Batch %(code)s stands here more than once on this day: see row %(rows)s.",
                     code=facts["code"], rows=rows)  # fmt: skip
        case "other":
            return _("Batch %(code)s of this day is there already, with other numbers.", code=facts["code"])
    return None


def choice_fault(code: str) -> str:
    """What is missing before a file can be looked at, and what to do."""
    what, _mark, target = code.partition("_")
    match what:
        case "twice":
            return _("Two columns cannot both be this: %(what)s.", what=target_words()[target])
        case "many":
            return _("More different names than can be matched by hand: is this column really what it was said to be?")
        case "too":
            return _("A fill has at most 12 readings.")
    known = {
        "no_code": _("Say which column has the batch code."),
        "no_product": _("Say which column has the product."),
        "no_day": _("Say which column has the day of the roast."),
        "no_style_decimal": _("Say how decimals are written here."),
        "no_style_day": _("Say how days are written here."),
        "no_style_duration": _("Say how times are written here."),
        "no_unit": _("Say in which unit this is."),
        "no_average": _("Say whether these are averages."),
        "no_meter": _("Choose the meter."),
        "no_method": _("Choose the method."),
        "no_time": _("Give a time of day, like 07:30."),
        "no_machine": _("Choose the machine."),
        "no_match_product": _("Choose the product that this name stands for, or leave its rows out."),
        "no_match_machine": _("Choose the machine that this name stands for, or leave its rows out."),
        "no_sheet": _("Choose the sheet."),
        "no_encoding": _("Say how the letters are written, then read the file like this."),
        "no_delimiter": _("Say what stands between the cells, then read the file like this."),
        "no_header": _("Give the number of the row with the headers, or 0 where there are none."),
    }
    return known[code]
