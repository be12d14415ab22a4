"""Export as CSV: read back by the standard library and by pandas, it says what is stored; no cell is a formula."""

from __future__ import annotations

import csv
import io

import pandas
import pytest

from tests.exchange.conftest import NASTY
from webapp.exchange.csv_files import RISKY, Style, harmless, number, original, written
from webapp.store import export_sets, export_shape
from webapp.store.export_sets import BY_NAME, SETS, Column

USUAL = Style()


def made(db, name: str, style: Style = USUAL, since: str = "", until: str = "") -> bytes:
    one = BY_NAME[name]
    return b"".join(written(one.columns, export_sets.rows(db, one, since, until), style))


@pytest.mark.parametrize("name", BY_NAME)
def test_it_has_every_row_once_and_every_column(worked, name):
    lines = list(csv.reader(io.StringIO(made(worked.db, name).decode(), newline="")))
    assert lines[0] == [column.name for column in BY_NAME[name].columns]
    main = BY_NAME[name].source.split()[0]
    assert len(lines) - 1 == next(worked.db.query(f"SELECT count(*) AS n FROM {main}"))["n"]
    assert {len(line) for line in lines} == {len(lines[0])}
    keys = [tuple(line[lines[0].index(k)] for k in BY_NAME[name].key) for line in lines[1:]]
    assert len(set(keys)) == len(keys)


def test_no_text_begins_as_a_formula_does_and_all_come_back(worked):
    """The signs of OWASP ASVS 5.0, 1.2.10."""
    lines = list(csv.DictReader(io.StringIO(made(worked.db, "decisions").decode(), newline="")))
    assert [original(line["reason"]) for line in lines] == list(NASTY)
    assert not any(line["reason"].startswith(RISKY) for line in lines)


@pytest.mark.parametrize("text", [*NASTY, "", "plain", "''", "\0x", "\rx"])
def test_a_harmless_text_gives_the_text_back(text):
    assert original(harmless(text)) == text
    assert not harmless(text).startswith(RISKY)


def test_negative_numbers_stay_numbers():
    columns = (Column("value", "number"), Column("note", "text"))
    assert b"".join(written(columns, [(-1.5, "-1.5")])) == b"value,note\r\n-1.5,'-1.5\r\n"


@pytest.mark.parametrize(
    ("value", "text"),
    [(56.0, "56"), (56.1, "56.1"), (0.1 + 0.2, "0.3"), (-0.5, "-0.5"), (1e-7, "0.0000001"), (123456789.0, "123456789")],
)
def test_it_writes_a_number_without_an_exponent(value, text):
    assert number(value) == text
    assert number(value, ",") == text.replace(".", ",")


@pytest.mark.parametrize(("style", "options"), [
    (Style(), {}),
    (Style(";", ",", True), {"sep": ";", "decimal": ",", "encoding": "utf-8-sig"}),
    (Style(";", "."), {"sep": ";"}),
])  # fmt: skip
def test_pandas_reads_the_values_that_are_stored(worked, style, options):
    read = pandas.read_csv(io.BytesIO(made(worked.db, "readings", style)), **options)
    stored = [row["value"] / 100 for row in worked.db.query("SELECT value FROM reading ORDER BY rowid")]
    assert list(read["value"]) == stored
    assert list(read["counts"]) == [5620 / 100 if no == 2 else value for no, value in enumerate(stored)]
    assert list(read["corrected"]) == [int(no == 2) for no in range(len(stored))]


def test_it_cuts_out_days(worked):
    day = next(worked.db.query("SELECT day FROM batch ORDER BY rowid"))["day"]
    assert made(worked.db, "batches", until=day).count(b"\r\n") == 2
    assert made(worked.db, "batches", since="2999-01-01").count(b"\r\n") == 1
    # What has no day is always whole.
    assert made(worked.db, "targets", since="2999-01-01") == made(worked.db, "targets")


@pytest.mark.parametrize("one", SETS, ids=lambda one: one.name)
def test_every_chunk_goes_on_where_the_last_one_ended(worked, one, monkeypatch):
    """In pieces of one row it is the same as in one piece."""
    whole = list(export_sets.rows(worked.db, one))
    monkeypatch.setattr(export_shape, "CHUNK", 1)
    assert list(export_sets.rows(worked.db, one)) == whole


def test_nothing_secret_is_in_any_column():
    used = " ".join(part for one in SETS for part in one.parts)
    for secret in ("pin_hash", "secret_hash", "token", "code_hash"):
        assert secret not in used
