"""Export as JSON lines, workbook, Parquet, package, database: each read back by somebody else's reader."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
import zipfile

import pytest
from pyarrow import parquet

from tests.exchange.conftest import NASTY
from webapp.exchange import columnar, json_lines, package, workbook
from webapp.exchange.csv_files import Style
from webapp.store import export_sets, open_copy
from webapp.store.export_sets import BY_NAME, SETS

MEANINGS = {one.name: {column.name: f"about {column.name}" for column in one.columns} for one in SETS}


def test_json_lines_keep_numbers_texts_and_nothing(worked):
    one = BY_NAME["decisions"]
    lines = b"".join(json_lines.written(one.columns, export_sets.rows(worked.db, one))).decode().splitlines()
    assert [json.loads(line)["reason"] for line in lines] == list(NASTY)
    batches = BY_NAME["batches"]
    written = b"".join(json_lines.written(batches.columns, export_sets.rows(worked.db, batches)))
    first = json.loads(written.splitlines()[1])
    assert first["code"] == "0515-01"
    assert first["verdict"] is None


def test_parquet_keeps_types(worked, tmp_path):
    one = BY_NAME["readings"]
    columnar.write(tmp_path / "x.parquet", one.columns, export_sets.rows(worked.db, one))
    table = parquet.read_table(tmp_path / "x.parquet")
    assert table.column_names == [column.name for column in one.columns]
    stored = [row["value"] / 100 for row in worked.db.query("SELECT value FROM reading ORDER BY rowid")]
    assert table["value"].to_pylist() == stored
    assert table["corrected"].to_pylist().count(True) == 1
    assert str(table.schema.field("made_at").type) == "timestamp[ms, tz=UTC]"


def test_parquet_of_nothing_has_its_columns(db, tmp_path):
    one = BY_NAME["batches"]
    columnar.write(tmp_path / "x.parquet", one.columns, [])
    assert parquet.read_table(tmp_path / "x.parquet").num_rows == 0


def test_a_workbook_holds_numbers_as_numbers_and_no_formula(worked, tmp_path):
    """Looked at in the file's own XML: a formula would be an <f>, a text is a t="inlineStr" or a shared string."""
    path = tmp_path / "x.xlsx"
    workbook.write(path, ((one.name, one.columns, export_sets.rows(worked.db, one)) for one in SETS))
    with zipfile.ZipFile(path) as file:
        sheets = [file.read(name).decode() for name in file.namelist() if name.startswith("xl/worksheets/sheet")]
        names = file.read("xl/workbook.xml").decode()
    assert len(sheets) == len(SETS)
    assert all(f'name="{one.name}"' in names for one in SETS)
    assert not any("<f>" in sheet or "<f " in sheet or "<hyperlink" in sheet for sheet in sheets)
    readings = sheets[[one.name for one in SETS].index("readings")]
    assert "<v>56.2</v>" in readings
    assert "=HYPERLINK(1)" in sheets[[one.name for one in SETS].index("decisions")]


def test_a_workbook_says_so_where_a_sheet_is_too_short(worked, tmp_path, monkeypatch):
    monkeypatch.setattr(workbook, "MOST_ROWS", 3)
    one = BY_NAME["readings"]
    with pytest.raises(workbook.TooLong, match="readings"):
        workbook.write(tmp_path / "x.xlsx", [(one.name, one.columns, export_sets.rows(worked.db, one))])
    assert list(tmp_path.glob("x*")) == []


@pytest.mark.parametrize("style", [Style(), Style(";", ",", True)], ids=["comma", "semicolon"])
def test_a_package_describes_each_file_as_it_is(worked, style):
    """Data Package 1 (https://specs.frictionlessdata.io/): what it says of a file is what the file holds."""
    file = io.BytesIO()
    package.write(worked.db, file, style, "", "", MEANINGS)
    with zipfile.ZipFile(file) as made:
        described = json.loads(made.read("datapackage.json"))
        assert sorted(made.namelist()) == sorted(["datapackage.json", *(r["path"] for r in described["resources"])])
        tables = {}
        for resource in described["resources"]:
            text = made.read(resource["path"]).decode("utf-8-sig")
            tables[resource["name"]] = resource, list(
                csv.DictReader(io.StringIO(text, newline=""), delimiter=resource["dialect"]["delimiter"])
            )
    for resource, rows in tables.values():
        fields = resource["schema"]["fields"]
        assert all(field["description"] for field in fields)
        for row in rows:
            assert list(row) == [field["name"] for field in fields]
            for field in fields:
                assert fits(row[field["name"]], field), (resource["name"], field, row[field["name"]])
        for foreign in resource["schema"].get("foreignKeys", ()):
            there = {one[foreign["reference"]["fields"]] for one in tables[foreign["reference"]["resource"]][1]}
            # An empty cell is a value that is not there, and refers to nothing.
            assert {row[foreign["fields"]] for row in rows} - {""} <= there


def fits(cell: str, field: dict) -> bool:
    """Whether a cell is of its field's type, or empty."""
    if cell == "":
        return True
    if field["type"] == "number":
        float(cell.replace(field["decimalChar"], "."))
    elif field["type"] == "integer":
        int(cell)
    elif field["type"] == "boolean":
        return cell in (*field["trueValues"], *field["falseValues"])
    return True


def test_the_copy_has_every_fact_and_a_view_for_each_set_and_no_secret(worked, path, tmp_path):
    open_copy.write_copy(worked.db, tmp_path / "copy.db")
    copy = sqlite3.connect(tmp_path / "copy.db")
    for one in SETS:
        found = copy.execute(f"SELECT * FROM {one.name}")
        assert [c[0] for c in found.description] == [column.name for column in one.columns]
        assert sorted(map(repr, found)) == sorted(map(repr, export_sets.rows(worked.db, one)))
    for table in ("reading", "ledger", "batch"):
        there = worked.db.conn.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
        assert copy.execute(f"SELECT count(*) FROM {table}").fetchone()[0] == there
    copy.close()
    content = (tmp_path / "copy.db").read_bytes()
    secrets = [row["pin_hash"] for row in worked.db.query("SELECT pin_hash FROM person")]
    secrets += [row["secret_hash"] for row in worked.db.query("SELECT secret_hash FROM tablet")]
    assert secrets
    assert not any(secret.encode() in content for secret in secrets)
    assert not list(tmp_path.glob("copy.db-*"))
