"""How cells are written: what is proposed, what has to be chosen, and that a number never becomes another one."""

from __future__ import annotations

import codecs
import csv
import io
from datetime import UTC, date, datetime, time, timedelta
from decimal import ROUND_HALF_EVEN, Decimal

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.utils.datetime import from_excel

from webapp.exchange import import_text, import_values, import_workbook
from webapp.exchange.import_cells import Clock, Day, Formula, Num, Refused
from webapp.exchange.import_columns import propose, said_by
from webapp.exchange.import_look import EMPTY, look_at
from webapp.exchange.import_rows import Setup, folded, read_all
from webapp.exchange.import_values import Bad, Scale


def look(*cells: str):
    return look_at([(no, [cell]) for no, cell in enumerate(cells, 2)], 1)[0][0]


@pytest.mark.parametrize(
    ("cells", "style"),
    [
        (["56.2", "56.25"], "point"), (["56,2", "7"], "comma"), (["56", "57"], "point"),
        # Both, or what may be marks between thousands: somebody has to say.
        (["56.2", "56,3"], None), (["1.234", "2.500"], None), (["12,350"], None), (["12,350", "12,35"], "comma"),
        # What a workbook keeps as a number is one, however it looks there.
        ([Num("56.2"), Num("1.234")], "point"), ([Num("56.2"), "56,2"], "comma"),
    ],
)  # fmt: skip
def test_a_decimal_style_is_proposed_where_all_fit_one(cells, style):
    assert look(*cells).decimal == style


@pytest.mark.parametrize(
    ("cells", "style"),
    [
        (["2026-05-14", "2026-05-14T06:58:03.120Z"], "iso"), (["14.5.2026", "1.2.26"], "dmy."),
        (["13/02/2026", "01/02/2026"], "dmy/"), (["02/13/2026", "01/02/2026"], "mdy/"),
        (["01/02/2026", "11/12/2026"], None), (["13/02/2026", "02/13/2026"], None), (["01-02-2026"], None),
        (["46156", "46157"], "serial"), ([Num("46156")], "serial"), ([Day("2026-05-14")], "iso"),
        # True dates beside written ones: in which were days taken for months?
        ([Day("2026-05-14"), "13/02/2026"], None), (["2026-05-14", "14.5.2026"], None), (["2026-02-30"], None),
    ],
)  # fmt: skip
def test_a_style_of_days_is_proposed_where_all_fit_one(cells, style):
    assert look(*cells).day == style


@pytest.mark.parametrize(
    ("cells", "style"),
    [
        (["11:30", "9:05"], "mss"), (["0:11:30"], "mss"), ([Clock("11:30:00"), Clock("09:05:00")], "hmm"),
        (["690", "700"], None), ([Clock("00:11:00")], None), (["11:30", "690"], None), (["11:30:20"], None),
    ],
)  # fmt: skip
def test_a_style_of_durations_is_proposed_where_all_fit_one(cells, style):
    assert look(*cells).duration == style


@pytest.mark.parametrize(
    ("header", "target", "unit", "average"),
    [
        ("Batch code", "code", None, False), ("Chargennummer", "code", None, False), ("roasted_at", "day", None, False),
        ("Röstdatum", "day", None, False),
        ("Green mass (kg)", "green", "kg", False), ("green_kg", "green", "kg", False),
        ("Einwaage [g]", "green", "g", False), ("Drop temp °F", "drop", "F", False), ("total_s", "total", "s", False),
        ("Whole bean 2", "whole", None, False), ("whole3", "whole", None, False),
        ("Bohne Messung 1", "whole", None, False),
        ("Gemahlen Mittelwert", "ground", None, True), ("ground_average", "ground", None, True),
        ("Moisture", None, None, False), ("", None, None, False),
    ],
)  # fmt: skip
def test_a_header_says_what_its_column_holds(header, target, unit, average):
    said = said_by(header)
    assert (said.target, said.unit, said.average) == (target, unit, average)


def test_of_two_headers_that_say_the_same_one_is_proposed():
    looks = [EMPTY] * 4
    assert propose(["day", "roasted_at", "whole 1", "whole 2"], looks, bool, bool) == {1: "day", 2: "whole", 3: "whole"}


def test_values_say_what_no_header_does():
    looks, _count = look_at([(no, [f"0514-{no}", "Lantern", "14.5.2026"]) for no in range(1, 400)], 3)
    assert propose(["A", "B", "C"], looks, lambda name: name == "Lantern", lambda _name: False) == {
        0: "code", 1: "product", 2: "day"
    }  # fmt: skip


@pytest.mark.parametrize(
    ("days", "from_1904", "day"),
    [
        # ECMA-376 Part 1, 18.17.4.1: in the 1900 base 1 is 1900-01-01 and 60 the day that never was (from memory,
        # recomputed by counting days with the calendar below; 1904 base: 0 is 1904-01-01).
        (1, False, date(1900, 1, 1)), (59, False, date(1900, 2, 28)), (60, False, None),
        (61, False, date(1900, 3, 1)), (0, False, None), (36526, False, date(2000, 1, 1)),
        (46156, False, date(2026, 5, 14)), (2958465, False, date(9999, 12, 31)), (2958466, False, None),
        (0, True, date(1904, 1, 1)), (44694, True, date(2026, 5, 14)), (-1, True, None),
    ],
)  # fmt: skip
def test_a_spreadsheets_count_of_days(days, from_1904, day):
    assert import_values.serial_day(days, from_1904) == day
    if day and days > 60 and not from_1904:
        assert from_excel(days).date() == day == date(1900, 3, 1) + timedelta(days=days - 61)


@pytest.mark.parametrize(
    ("cell", "style", "found"),
    [
        ("2026-05-14", "iso", (date(2026, 5, 14), None)), ("14.5.26", "dmy.", (date(2026, 5, 14), None)),
        ("14.05.2026 06:58", "dmy.", (date(2026, 5, 14), time(6, 58))),
        ("5/14/2026 6:58 PM", "mdy/", (date(2026, 5, 14), time(18, 58))),
        ("2026-05-14T06:58:03.120Z", "iso",
         (date(2026, 5, 14), datetime(2026, 5, 14, 6, 58, 3, 120000, tzinfo=UTC))),
        ("46156.5", "serial", (date(2026, 5, 14), time(12))), (Num("46156.25"), "serial", (date(2026, 5, 14), time(6))),
        (Day("2026-05-14 06:58:00"), "dmy/", (date(2026, 5, 14), time(6, 58))),
        ("2028-02-29", "iso", (date(2028, 2, 29), None)),
    ],
)  # fmt: skip
def test_a_day(cell, style, found):
    assert import_values.day(cell, style) == found


@pytest.mark.parametrize(
    ("cell", "style", "code"),
    [
        ("2026-02-29", "iso", "no_such_day"), ("29.2.2026", "dmy.", "no_such_day"),
        ("14/5/2026", "mdy/", "no_such_day"),
        ("14.5.2026", "iso", "not_a_day"), ("14.5.2026", "dmy/", "not_a_day"), ("14.5.026", "dmy.", "no_such_day"),
        (Num("46156"), "iso", "not_a_day"), ("60", "serial", "not_a_day"), ("2026-05-14 25:00", "iso", "not_a_time"),
        ("2026-05-14 6:58+99:00", "iso", "not_a_time"), (Formula("=TODAY()"), "iso", "formula"),
    ],
)  # fmt: skip
def test_no_day(cell, style, code):
    with pytest.raises(Bad) as bad:
        import_values.day(cell, style)
    assert bad.value.code == code


def test_pounds_and_fahrenheit():
    """1 lb = 453.59237 g exactly (NIST SP 811, B.8); 400 °F = 204.44 °C, by the definition."""
    assert import_values.grams("27.2", "point", "lb") == 12338
    assert import_values.grams("1", "point", "lb") == 454
    assert import_values.decicelsius("400", "point", "F") == 2044
    assert import_values.decicelsius("401", "point", "F") == 2050


@pytest.mark.parametrize(
    ("cell", "style", "seconds"),
    [("11:30", "mss", 690), ("0:11:30", "mss", 690), ("11:30:00", "hmm", 690), ("690", "seconds", 690),
     ("11:30:00", "mss", "hours"), ("11.5", "mss", "not_mss"), ("11:5", "mss", "not_mss"), ("11:60", "mss", "not_mss"),
     ("11:30:10", "hmm", "not_hmm"), ("11:30", "seconds", "not_seconds"), ("690.5", "seconds", "too_fine"),
     ("0", "seconds", "duration_range"), ("7201", "seconds", "duration_range")],
)  # fmt: skip
def test_a_duration(cell, style, seconds):
    if isinstance(seconds, int):
        assert import_values.seconds(cell, style) == seconds
    else:
        with pytest.raises(Bad, match=seconds):
            import_values.seconds(cell, style)


SCALE = Scale(0, 15000, 10)


@given(st.decimals("0", "150", allow_nan=False, places=6), st.sampled_from(["point", "comma"]))
def test_an_average_is_rounded_half_to_even(exact, style):
    """Against the decimal module (ISO 80000-1, B.3, rule A)."""
    cell = f"{exact:f}".replace(".", "," if style == "comma" else ".")
    hundredths = int((exact * 100).quantize(Decimal(1), ROUND_HALF_EVEN))
    assert import_values.average(cell, style, SCALE) == hundredths


# RFC 4180, section 2, rules 1 to 7: each with the RFC's own records.
RFC = [
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),
]


@pytest.mark.parametrize(("text", "records"), RFC)
@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
def test_it_reads_what_the_standard_has_as_examples(text, records, end):
    found = [cells for _no, cells in import_text.rows(text.replace("\r\n", end).encode(), "utf-8", ",")]
    assert found == [[cell.replace("\r\n", end) for cell in record] for record in records]


@pytest.mark.parametrize("text", ['a,"b', 'a,"b"c,d\n', '"a\nb,c\n'])
def test_it_refuses_quotes_that_are_not_closed(text):
    with pytest.raises(Refused, match="quotes"):
        list(import_text.rows(text.encode(), "utf-8", ","))


@pytest.mark.parametrize(
    ("encoding", "mark", "found", "sure"),
    [
        ("utf-8", b"", "utf-8", True), ("utf-8", codecs.BOM_UTF8, "utf-8-sig", True),
        ("utf-16-le", codecs.BOM_UTF16_LE, "utf-16", True), ("utf-16-be", codecs.BOM_UTF16_BE, "utf-16", True),
        ("cp1252", b"", "cp1252", False), ("mac_roman", b"", "cp1252", False),
    ],
)  # fmt: skip
def test_how_letters_are_written(encoding, mark, found, sure):
    content = mark + "Größe;Röstung;“Café”\r\n".encode(encoding)
    written = import_text.writing_of(content)
    assert (written.encoding, written.sure) == (found, sure)
    assert encoding in written.possible or sure
    if sure:
        assert [cells for _no, cells in import_text.rows(content, found, ";")] == [["Größe", "Röstung", "“Café”"]]
    else:
        assert import_text.odd_words(content, encoding) == ["Größe", "Röstung", "“Café”"]


@pytest.mark.parametrize(
    ("text", "delimiter", "sure"),
    [
        ("a,b,c\n1,2,3\n", ",", True), ("a;b;c\n1,5;2,5;3,5\n", ";", True), ("a\tb\n1,5\t2,5\n", "\t", True),
        ("a|b\n1|2\n", "|", True), ("a;b,c\n1;2,3\n", None, False), ("a\n1\n", ",", False),
    ],
)  # fmt: skip
def test_what_stands_between_cells(text, delimiter, sure):
    split = import_text.split_of(text.encode(), "utf-8")
    assert split.sure == sure
    assert delimiter in (None, split.delimiter)


def test_a_workbook_keeps_what_it_knows(tmp_path):
    made = openpyxl.Workbook()
    sheet = made.active
    sheet.append(["=1+1", 56.2, date(2026, 5, 14), datetime(2026, 5, 14, 6, 58, 3), time(11, 30), None, "text", 7])
    sheet.append([None] * 3)
    sheet["B3"] = "#N/A"
    other = made.create_sheet("Second")
    other["C7"] = 46156
    other["C7"].number_format = "yyyy-mm-dd"
    file = io.BytesIO()
    made.save(file)
    book = import_workbook.read(file.getvalue())
    assert book.sheets == (("Sheet", 2), ("Second", 1))
    (no, first), (_three, third) = import_workbook.rows(book.content, 0)
    assert (no, [(type(cell).__name__, str(cell)) for cell in first]) == (1, [
        ("Formula", "=1+1"), ("Num", "56.2"), ("Day", "2026-05-14"), ("Day", "2026-05-14 06:58:03"),
        ("Clock", "11:30:00"), ("str", ""), ("str", "text"), ("Num", "7"),
    ])  # fmt: skip
    assert [type(cell).__name__ for cell in third] == ["str", "Wrong"]
    assert list(import_workbook.rows(book.content, 1)) == [(7, ["", "", Day("2026-05-14")])]


# Random tables -------------------------------------------------------------------------------------------------

DAYS = {
    "iso": "{0:%Y-%m-%d}", "dmy.": "{0.day}.{0.month}.{0.year}", "dmy/": "{0:%d/%m/%Y}", "mdy/": "{0:%m/%d/%Y}",
    "dmy-": "{0:%d-%m-%Y}", "mdy-": "{0.month}-{0.day}-{0.year}",
}  # fmt: skip
NUMBER = st.integers(0, 15000).map(lambda tenth: Decimal(tenth).scaleb(-2).quantize(Decimal("0.1")))
ROWS = st.lists(
    st.tuples(st.dates(date(2001, 1, 1), date(2025, 12, 31)), NUMBER, st.integers(1, 99999), st.booleans()),
    min_size=1, max_size=12,
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(
    ROWS, st.sampled_from(sorted(DAYS)), st.sampled_from(["point", "comma"]), st.sampled_from(import_text.DELIMITERS),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]), st.data(),
)  # fmt: skip
def test_random_tables_come_back_as_the_same_numbers_or_not_at_all(table, style, decimal, delimiter, encoding, data):
    """Written in one style and read in a style drawn by itself: each row has the numbers that were written, or a
    problem. Read in its own style there are none."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=delimiter)
    writer.writerow(["code", "product", "day", "green", "whole"])
    mark = {"point": ".", "comma": ","}[decimal]
    for no, (day, value, grams, other) in enumerate(table):
        # Now and then a cell is written in the other style.
        own = {".": ",", ",": "."}[mark] if other and data.draw(st.booleans()) else mark
        kilograms = f"{Decimal(grams).scaleb(-3):f}".replace(".", own)
        writer.writerow([f"Ü{no}", "Lantern", DAYS[style].format(day), kilograms, str(value).replace(".", own)])
    content = text.getvalue().encode(encoding)
    read_as, decimals = data.draw(st.sampled_from(sorted(DAYS))), data.draw(st.sampled_from(["point", "comma"]))
    columns = {name: (no,) for no, name in enumerate(("code", "product", "day", "green", "whole"))}
    for days, numbers in ((style, decimal), (read_as, decimals)):
        setup = Setup(
            columns, {2: days, 3: numbers, 4: numbers}, {3: "kg"}, {folded("Lantern"): "p"}, {}, "m", time(7),
            {"whole": SCALE}, {}, 5, False, "Europe/Vienna", datetime(2026, 1, 1, tzinfo=UTC),
        )  # fmt: skip
        rows = list(import_text.rows(content, encoding, delimiter))[1:]
        for (day, value, grams, _other), (_row, new, problems) in zip(
            table, read_all(setup, lambda rows=rows: rows), strict=True
        ):
            assert (new is None) == bool(problems)
            if new and days == style:
                assert new.day == day.isoformat()
            elif new:
                # Only what reads as a day in both styles is taken for another one: which is why somebody chooses.
                assert DAYS[days].format(date.fromisoformat(new.day)).replace("0", "") == DAYS[style].format(
                    day).replace("0", "")  # fmt: skip
            if new:
                assert (new.green_g, new.readings["whole"][0].value) == (grams, int(value * 100))
