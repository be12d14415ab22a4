"""Files that cannot be taken: refused with what to do, as a whole or by row and column, and nothing is kept of them."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date

import openpyxl
import pytest

from tests.exchange.taking import begun, chosen, counts, looked, page_of, problems, refusal, said, send, taken_in
from webapp.exchange import import_workbook
from webapp.exchange.import_file import clean_name
from webapp.store import imports

HEAD = "Batch code,Product,Date,Whole bean\n"
ROW = "0301-01,Lantern House,2026-03-01,56.2\n"


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


def book(rows, change=None) -> bytes:
    """A workbook with these rows; change: what is done to it before it is saved."""
    made = openpyxl.Workbook()
    for row in rows:
        made.active.append(row)
    if change:
        change(made)
    file = io.BytesIO()
    made.save(file)
    return file.getvalue()


def zipped(**parts: bytes) -> bytes:
    """A ZIP file with these parts."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in parts.items():
            made.writestr(name, content)
    return file.getvalue()


COMPOUND = bytes.fromhex("d0cf11e0a1b11ae1")
WIDE = ",".join(f"c{no}" for no in range(1000)) + "\n"


@pytest.mark.parametrize(
    ("content", "name", "words"),
    [
        (b"", "x.csv", "0 bytes"),
        (b"\r\n\r\n , \n", "x.csv", "nothing in this file but empty rows"),
        (b"\xff\xfe", "x.csv", "nothing in this file but empty rows"),
        (b"\x89PNG\r\n\x1a\n" + bytes(500), "x.csv", "This is not a table."),
        (bytes(range(256)) * 20, "x.csv", "This is not a table."),
        (HEAD.encode("utf-16-le"), "x.csv", "This is not a table."),
        (b"\xff\xfe\x00\x00" + HEAD.encode("utf-32-le"), "x.csv", "UTF-32"),
        (b"\xef\xbb\xbfcode,caf\xe9\n", "x.csv", "says that it is Unicode, and is not"),
        (COMPOUND + bytes(600), "x.xls", "older kind (XLS)"),
        (COMPOUND + "EncryptedPackage".encode("utf-16-le") + bytes(600), "x.xlsx", "protected with a password"),
        (zipped(**{"readme.txt": b"hello"}), "x.xlsx", "a ZIP file, and no workbook"),
        (b"PK\x03\x04" + bytes(300), "x.xlsx", "This workbook is damaged"),
        (book([["a", "b"], [1, 2]])[:-400], "x.xlsx", "This workbook is damaged"),
        (book([]), "x.xlsx", "nothing in this file but empty rows"),
        (WIDE.encode(), "x.csv", "Row 1 has 1000 columns."),
        (book([[f"c{no}" for no in range(1000)]]), "x.xlsx", "too many columns"),
        ((HEAD + ROW + '0301-02,"Lantern House,2026-03-01,56.2\n' + ROW * 9).encode(), "x.csv", "In line 3"),
        ((HEAD + "x" * 200_000 + "\n").encode(), "x.csv", "more than 100 000 characters begins in line 2"),
        ((HEAD + '0301-02,"Lantern House\n' + ROW * 9000).encode(), "x.csv", "begins in line 2"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_it_refuses_the_file_and_says_why(bench, lead, content, name, words):
    assert words in refusal(lead, content, name)
    assert imports.list_drafts(bench.db) == []


def test_no_file_is_no_file(lead):
    answer = lead.post("/import", data={}, content_type="multipart/form-data")
    assert answer.status_code == 400
    assert said(answer) == ["Choose the file."]


def test_too_many_rows_are_refused(lead, monkeypatch):
    for module in ("import_text", "import_workbook"):
        monkeypatch.setattr(f"webapp.exchange.{module}.MOST_ROWS", 3)
    assert "too many rows" in refusal(lead, (HEAD + ROW * 4).encode())
    assert "The sheet “Sheet” has too many rows." in refusal(lead, book([["a", "b"]] + [[1, 2]] * 4), "x.xlsx")
    assert send(lead, (HEAD + ROW * 3 + "\n" * 9).encode()).status_code == 303


def test_sixty_megabytes_are_answered_with_a_page(bench, lead):
    """Through the same door as a browser's: the whole body is sent, and taken off the line."""
    body = io.BytesIO(bytes(60_000_000))
    answer = lead.post(
        "/import", input_stream=body, content_length=60_000_000, content_type="multipart/form-data; boundary=x"
    )
    assert answer.status_code == 413
    assert body.tell() == 60_000_000
    page = page_of(answer)
    assert page.find("h1")[0].text == "That file is too large"
    assert "At most 20 MB can be sent at once, and this is 60 MB." in page.find("p", class_="lead")[0].text
    assert imports.list_drafts(bench.db) == []


def test_a_file_just_over_the_limit_is_told_so(lead, monkeypatch):
    monkeypatch.setattr("webapp.exchange.import_file.MOST_BYTES", 50)
    assert "This file is too large." in refusal(lead, (HEAD + ROW * 9).encode())


def test_other_forms_keep_their_limit(lead):
    assert lead.post("/batches/new", data={"note": "x" * 300_000}).status_code == 413


def test_a_workbook_that_unpacks_to_too_much_is_never_unpacked(lead, monkeypatch):
    """A thousandth of the size on the line: its directory says so, and is believed when it says too much."""
    monkeypatch.setattr(import_workbook, "MOST_UNPACKED", 2_000_000)
    big = bytes(9_000_000)
    bomb = zipped(**{"[Content_Types].xml": b"<x/>", "xl/workbook.xml": b"<x/>", "xl/worksheets/sheet1.xml": big})
    assert len(bomb) < 20_000
    monkeypatch.setattr(import_workbook, "_unpacked", None)
    assert "unpacks to more than 2 MB" in refusal(lead, bomb, "x.xlsx")


def test_a_directory_that_lies_is_not_believed(lead, monkeypatch):
    """The size in the directory made small: what comes out does not fit it, and no parser sees it."""
    monkeypatch.setattr(import_workbook, "MOST_UNPACKED", 2_000_000)
    big = bytes(9_000_000)
    bomb = zipped(**{"[Content_Types].xml": b"<x/>", "xl/workbook.xml": b"<x/>", "xl/worksheets/sheet1.xml": big})
    lying = bomb.replace(len(big).to_bytes(4, "little"), (1000).to_bytes(4, "little"))
    assert lying != bomb
    assert "This workbook is damaged" in refusal(lead, lying, "x.xlsx")


def test_entities_that_grow_are_no_way_in(lead):
    """Ten entities, each ten of the one before: what is read does not grow with them."""
    lines = "".join(f'<!ENTITY e{no} "{f"&e{no - 1};" * 10}">' for no in range(1, 10))
    sheet = (f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY e0 "{"x" * 100}">{lines}]><worksheet xmlns="http://schemas.'
             'openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>&e9;</t>'
             "</is></c></row></sheetData></worksheet>")  # fmt: skip
    good = zipfile.ZipFile(io.BytesIO(book([["a", "b"], [1, 2]])))
    parts = {name: good.read(name) for name in good.namelist()}
    parts["xl/worksheets/sheet1.xml"] = sheet.encode()
    assert "This workbook is damaged" in refusal(lead, zipped(**parts), "x.xlsx")


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/passwd.csv", "passwd.csv"),
        ("C:\\Users\\x\\history.csv", "history.csv"),
        ("a\0b.csv", "ab.csv"),
        ("...", "–"),
        ("/", "–"),
        ("x" * 300 + ".csv", "x" * 75 + "….csv"),
        ("<script>alert(1)</script>.csv", "script>.csv"),
        ("röst\u202egnp.csv", "röstgnp.csv"),
        (None, "–"),
    ],
)  # fmt: skip
def test_of_a_files_name_only_its_last_part_is_kept(name, kept):
    assert clean_name(name) == kept
    assert len(clean_name(name)) <= 80


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (",Lantern House,2026-03-01,56.2", "Batch code", "Nothing stands here"),
        ("x,,2026-03-01,56.2", "Product", "Nothing stands here"),
        ("x,Lantern House,,56.2", "Date", "Nothing stands here"),
        ("x,Lantern House,1900-03-01,56.2", "Date", "Before the year 2000"),
        ("x,Lantern House,2100-03-01,56.2", "Date", "still to come"),
        ("x,Lantern House,2026-02-29,56.2", "Date", "The calendar has no such day"),
        ("x,Lantern House,2026-13-01,56.2", "Date", "The calendar has no such day"),
        ("x,Lantern House,yesterday,56.2", "Date", "Not a day"),
        ("x,Lantern House,2026-03-01,=1+55", "Whole bean", "This is no number."),
        ("x,Lantern House,2026-03-01,'=1+55", "Whole bean", "This is no number."),
        ("x,Lantern House,2026-03-01,\"56,2\"", "Whole bean", "This has a comma"),
        ("x,Lantern House,2026-03-01,\"1,056.2\"", "Whole bean", "more than one mark"),
        ("x,Lantern House,2026-03-01,150.1", "Whole bean", "Off the scale, which runs from 0.0 to 150.0."),
        ("x,Lantern House,2026-03-01,-1", "Whole bean", "Off the scale"),
        ("x,Lantern House,2026-03-01,56.23", "Whole bean", "Finer than the scale, which goes in steps of 0.1"),
        ("x,Lantern House,2026-03-01,5e1", "Whole bean", "This is no number."),
        ("x,Lantern House,2026-03-01,NaN", "Whole bean", "This is no number."),
        ("x,Lantern House,2026-03-01,٥٦", "Whole bean", "This is no number."),
        ("x\0y,Lantern House,2026-03-01,56.2", "Batch code", "cannot be shown"),
        (f"{'x' * 41},Lantern House,2026-03-01,56.2", "Batch code", "More than 40 characters."),
        ("x,Lantern House,2026-03-01", "–", "3 cells, where the headers have 4"),
        ("x,Lantern House,2026-03-01,56,2", "–", "5 cells, where the headers have 4"),
    ],
)  # fmt: skip
def test_it_names_a_problem_by_row_and_column(bench, lead, row, column, words):
    """Beside twenty good rows, which are not held up; `mark` and days are as the good rows have them."""
    good = "".join(f"03{no:02d}-01,Lantern House,2026-03-{no:02d},56.2\n" for no in range(13, 23))
    content = (HEAD + good + row + "\n").encode()
    _there, page = looked(
        lead, bench, content, **{"average-whole": "reading", "time": "07:00", "style-2": "iso", "style-3": "point"}
    )
    (found,) = problems(page)
    assert found[:2] == ("12", column)
    assert words in found[3], found
    assert "x,Lantern" not in page.find("h1")[0].text


def test_codes_that_stand_twice_name_each_other(bench, lead):
    rows = "A,Lantern House,2026-03-01,56.2\nB,Lantern House,2026-03-01,56.2\nA,Lantern House,2026-03-01,57.2\n"
    _there, page = looked(
        lead, bench, (HEAD + rows + "A,Lantern House,2026-03-02,56.2\n").encode(),
        **{"average-whole": "reading", "time": "07:00"},
    )  # fmt: skip
    assert [(row, re.search(r"see row (.*)\.", words)[1]) for row, _column, _cell, words in problems(page)] == [
        ("2", "4"), ("4", "2")
    ]  # fmt: skip


def test_a_batch_that_is_there_with_other_numbers_is_refused(bench, lead):
    ways = {"average-whole": "reading", "time": "07:00"}
    taken_in(lead, bench, (HEAD + ROW).encode(), **ways)
    _there, page = looked(lead, bench, (HEAD + ROW.replace("56.2", "56.3")).encode(), **ways)
    assert counts(page) == (0, 0, 1)
    assert problems(page)[0][3] == "Batch 0301-01 of this day is there already, with other numbers."


def test_what_is_in_a_workbook_as_a_formula_is_not_taken(bench, lead):
    rows = [["Batch code", "Product", "Date", "Whole bean"], ["A", "Lantern House", "2026-03-01", "=55+1.2"],
            ["B", "Lantern House", "2026-03-01", 56.2]]  # fmt: skip
    _there, page = looked(lead, bench, book(rows), "x.xlsx", **{"average-whole": "reading", "time": "07:00"})
    ((row, column, cell, words),) = problems(page)
    assert (row, column, cell) == ("2", "Whole bean", "=55+1.2")
    assert "A formula" in words
    assert "Save the sheet as CSV" in words


def test_a_code_that_became_a_date_is_not_taken(bench, lead):
    rows = [["Batch code", "Product", "Date", "Whole bean"], [date(2026, 5, 14), "Lantern House", date(2026, 3, 1), 56]]
    _there, page = looked(lead, bench, book(rows), "x.xlsx", **{"average-whole": "reading", "time": "07:00"})
    ((row, column, _cell, words),) = problems(page)
    assert (row, column) == ("2", "Batch code")
    assert "has made a date of this code" in words


def test_refused_rows_come_back_as_a_file_that_runs_nothing(bench, lead):
    rows = 'A,Lantern House,1900-01-01,56.2\n"=HYPERLINK(1)",@x,2026-03-01,56.2\nC,Lantern House,2026-03-01,56.2\n'
    there = begun(lead, (HEAD + rows).encode())
    answer = chosen(lead, bench, there, **{"average-whole": "reading", "time": "07:00", "product-1": "-"})
    assert answer.status_code == 303, said(answer)
    lines = lead.get(f"{there}/refused").data.decode("utf-8-sig").splitlines()
    assert lines[0] == "Row,What is wrong,Batch code,Product,Date,Whole bean"
    assert len(lines) == 3
    assert lines[2].endswith("'=HYPERLINK(1),'@x,2026-03-01,56.2")
    assert not [cell for line in lines for cell in line.split(",") if cell.startswith(("=", "+", "-", "@"))]
