"""The export's pages: a lead chooses, gets a file, or is told what is wrong with what was asked."""

from __future__ import annotations

import csv
import io
import zipfile

import pytest

from webapp.exchange import files
from webapp.store.export_sets import SETS
from webapp.ui import meanings


@pytest.mark.parametrize("form", ["csv", "package", "xlsx", "jsonl", "parquet", "sqlite"])
def test_it_hands_out_every_kind_of_file(worked, sign_in, form):
    answer = sign_in("lead").get(f"/export/file?form={form}&set=readings")
    assert answer.status_code == 200
    end = {"package": "zip"}.get(form, form)
    assert answer.headers["Content-Disposition"].endswith(f'.{end}"')
    begins = {"csv": b"sample_id,", "package": b"PK", "xlsx": b"PK", "jsonl": b"{", "parquet": b"PAR1",
              "sqlite": b"SQLite format 3"}  # fmt: skip
    assert answer.data.startswith(begins[form])


def test_it_writes_as_a_country_does(worked, sign_in):
    answer = sign_in("lead").get("/export/file?form=csv&set=readings&style=semicolon_comma&mark=1")
    rows = list(csv.DictReader(io.StringIO(answer.data.decode("utf-8-sig"), newline=""), delimiter=";"))
    assert answer.data.startswith(b"\xef\xbb\xbf")
    assert rows[0]["value"] == "56,2"


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("set=../../etc/passwd", "Choose what to take out."),
        ("form=exe", "Choose a kind of file."),
        ("style=x", "Choose how numbers are written."),
        ("since=14.5.2026", "Write a day as year, month, day"),
        ("since=2026-05-14&until=2026-05-13", "The last day lies before the first one."),
    ],
)
def test_it_says_what_is_wrong_and_keeps_the_rest(worked, sign_in, asked, said):
    page = sign_in("lead").page(f"/export/file?{asked}", 400)
    assert any(said in e.text for e in page.find("p", **{"class": "error"}))
    assert any(said in e.text for e in page.find("a") if "li" in e.inside)
    if "since=" in asked:
        kept = page.find("input", id="since-field")[0].attrs["value"]
        assert kept == asked.split("&")[0].removeprefix("since=")


def test_only_a_lead_may_and_only_with_the_pin(worked, sign_in):
    for role in ("trainee", "roaster"):
        assert sign_in(role).get("/export/file").status_code == 403
    worked.db.conn.execute("UPDATE session SET confirmed_at = NULL")
    lead = sign_in("lead")
    worked.db.conn.execute("UPDATE session SET confirmed_at = '2020-01-01T00:00:00.000Z'")
    assert lead.get("/export/file").status_code in (302, 303)


def test_the_dictionary_has_every_column_and_no_other(app):
    with app.test_request_context():
        said = meanings.meanings()
        assert set(said) == set(meanings.set_words()) == set(meanings.set_names()) == {one.name for one in SETS}
        for one in SETS:
            for column in one.columns:
                assert said[one.name][column.name].endswith("."), (one.name, column.name)
        used = {column.name for one in SETS for column in one.columns}
        assert {name for own in said.values() for name in own} <= used


def test_the_dictionary_is_a_page(sign_in):
    page = sign_in("lead").page("/export/columns")
    assert len(page.find("h2")) == len(SETS)
    assert len(page.find("tr")) == len(SETS) + sum(len(one.columns) for one in SETS)


def test_what_is_made_in_a_file_leaves_none_behind(worked, sign_in, tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "made"))
    (tmp_path / "made").mkdir()
    answer = sign_in("lead").get("/export/file?form=package")
    assert zipfile.ZipFile(io.BytesIO(answer.data)).testzip() is None
    answer.close()
    assert list((tmp_path / "made").iterdir()) == []


def test_a_reader_that_goes_away_leaves_none_behind(worked, tmp_path, app, monkeypatch):
    from webapp.exchange import asked as asking

    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "made"))
    (tmp_path / "made").mkdir()
    with app.test_request_context("/export/file?form=sqlite"):
        from flask import request

        body = files.from_file(worked.db, asking.read(request.args))
        assert next(body)
        body.close()
    assert list((tmp_path / "made").iterdir()) == []
