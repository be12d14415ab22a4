"""The steps between: who may, what is asked, what stays chosen, what is forgotten."""

from __future__ import annotations

import io
from datetime import timedelta

import openpyxl
import pytest

from tests.exchange.taking import GOOD, begun, chosen, counts, filled, looked, read_by, said, send, take
from tests.support.roastery import later
from webapp.store import imports
from webapp.store.times import to_text


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


def test_only_a_lead_may(bench, sign_in):
    there = begun(sign_in("lead"), GOOD)
    for role in ("trainee", "roaster"):
        client = sign_in(role)
        assert send(client, GOOD).status_code == 403
        for step in ("", "/columns", "/numbers", "/preview", "/refused"):
            assert client.get(there + step).status_code == 403
        assert client.post(f"{there}/take").status_code == 403
    assert len(imports.list_drafts(bench.db)) == 1


def test_the_pin_is_asked_for_before_anything_is_stored(bench, lead):
    there, page = looked(lead, bench, GOOD)
    bench.db.conn.execute("UPDATE session SET confirmed_at = '2020-01-01T00:00:00.000Z'")
    answer = take(lead, there, page)
    assert answer.status_code == 403
    assert "PIN" in answer.get_data(as_text=True)
    assert bench.db.conn.execute("SELECT count(*) FROM batch").fetchone()[0] == 0


def test_a_file_that_is_sent_after_the_session_ended_asks_for_the_pin_and_not_for_less(bench, client):
    """It is not carried along: 300 KB are more than other forms may be."""
    answer = send(client, GOOD + b"x" * 300_000)
    assert answer.status_code == 303
    assert "/sign-in" in answer.headers["Location"]


def test_what_is_not_chosen_is_asked_for_and_the_rest_stays(bench, lead):
    there = begun(lead, b"Batch code,Product,Date,Whole bean\nA,Lantern,01/02/2026,56.2\nB,House,02/03/2026,56.3\n")
    answer = chosen(lead, bench, there, **{"product-0": bench.product})
    assert answer.status_code == 400
    assert said(answer) == [
        "Say whether these are averages.", "Give a time of day, like 07:30.", "Say how days are written here.",
        "Choose the product that this name stands for, or leave its rows out.",
    ]  # fmt: skip
    assert lead.get(f"{there}/preview").headers["Location"].endswith("/numbers")
    again = filled(lead.page(f"{there}/numbers"))
    assert (again["product-0"], again["meter-whole"], again["machine"]) == (bench.product, bench.meter, bench.machine)
    again |= {"average-whole": "reading", "time": "07:30", "style-2": "dmy/", "product-1": "-"}
    assert lead.post(f"{there}/numbers", data=again).status_code == 303
    page = lead.page(f"{there}/preview")
    assert counts(page) == (1, 0, 1)
    assert "1 Feb 2026" in page.find("table")[0].text
    assert "Left out, as was chosen for this name." in page.find("table")[1].text


@pytest.mark.parametrize("time", ["25:00", "7", "noon", "07:30:61"])
def test_no_time_is_made_up(bench, lead, time):
    there = begun(lead, b"Batch code,Product,Date\nA,LH,2026-02-01\n")
    assert said(chosen(lead, bench, there, time=time)) == ["Give a time of day, like 07:30."]


def test_two_columns_cannot_be_one_thing(lead):
    there = begun(lead, b"Batch code,Product,Date,Other\nA,LH,2026-02-01,x\n")
    answer = lead.post(f"{there}/columns", data={"column-0": "code", "column-3": "code", "column-1": "product"})
    assert answer.status_code == 400
    assert said(answer) == [
        "Say which column has the day of the roast.", "Two columns cannot both be this: Batch code."
    ]  # fmt: skip
    assert filled(lead.page(f"{there}/columns"))["column-3"] == "code"


def test_where_nothing_says_how_letters_are_written_somebody_does(bench, lead):
    there = begun(lead, "Charge;Produkt;Datum;Partie\r\n0301-01;LH;1.3.2026;Größe\r\n".encode("cp1252"))
    page = lead.page(f"{there}/columns")
    shown = [" ".join(e.text.split()) for e in page.find("label", class_="option")]
    assert "Windows, western Europe: Größe" in shown
    assert any(text.startswith("older Mac: Gr") and "ö" not in text for text in shown)
    assert not [e for e in page.find("input", name="encoding") if "checked" in e.attrs]
    answer = lead.post(f"{there}/columns", data=filled(page))
    assert said(answer)[0] == "Say how the letters are written, then read the file like this."
    answer = lead.post(f"{there}/columns", data={"read": "1", "encoding": "cp1252", "delimiter": ";", "header": "1"})
    assert answer.status_code == 303
    assert chosen(lead, bench, there, time="07:00").status_code == 303
    assert "Größe" in lead.page(f"{there}/preview").find("table")[0].text


def test_headers_may_stand_further_down_or_not_at_all(bench, lead):
    there = begun(lead, b"History of 2026\n\nBatch code,Product,Date\nA,LH,2026-02-01\n")
    answer = lead.post(
        f"{there}/columns", data={"read": "1", "encoding": "utf-8", "delimiter": ",", "header": "2"}
    )
    assert said(answer) == ["Row 2 is empty or not there: say in which row the headers stand."]
    for wrong in ("x", "-1", "99999999"):
        answer = lead.post(
            f"{there}/columns", data={"read": "1", "encoding": "utf-8", "delimiter": ",", "header": wrong}
        )
        assert said(answer) == ["Give the number of the row with the headers, or 0 where there are none."]
        assert f'value="{wrong}"' in answer.get_data(as_text=True)
    lead.post(f"{there}/columns", data={"read": "1", "encoding": "utf-8", "delimiter": ",", "header": "3"})
    assert chosen(lead, bench, there, time="07:00").status_code == 303
    assert counts(lead.page(f"{there}/preview")) == (1, 0, 0)


def test_of_several_sheets_one_is_chosen(bench, lead):
    made = openpyxl.Workbook()
    made.active.append(["nothing", "of", "use"])
    second = made.create_sheet("Batches")
    second.append(["Batch code", "Product", "Date"])
    second.append(["A", "LH", "2026-02-01"])
    file = io.BytesIO()
    made.save(file)
    there = begun(lead, file.getvalue(), "x.xlsx")
    assert said(lead.post(f"{there}/columns", data={})) == ["Choose the sheet."]
    assert lead.post(f"{there}/columns", data={"read": "1", "sheet": "7", "header": ""}).status_code == 400
    assert lead.post(f"{there}/columns", data={"read": "1", "sheet": "1", "header": ""}).status_code == 303
    assert chosen(lead, bench, there, time="07:00").status_code == 303
    assert counts(lead.page(f"{there}/preview")) == (1, 0, 0)


def test_problems_come_a_hundred_at_a_time(bench, lead):
    rows = "".join(f"{no},LH,never\n" for no in range(250))
    there = begun(lead, f"Batch code,Product,Date\nA,LH,2026-02-01\n{rows}".encode())
    assert chosen(lead, bench, there, time="07:00", **{"style-2": "iso"}).status_code == 303
    seen = []
    for no in (1, 2, 3):
        page = lead.page(f"{there}/preview?page={no}")
        seen += [e.text for e in page.find("td", class_="num")]
        assert counts(page) == (1, 0, 250)
    assert seen == [str(no) for no in range(3, 253)]


def test_a_bench_that_changed_meanwhile_is_looked_at_again(bench, lead):
    there, page = looked(lead, bench, GOOD)
    bench.batch("0301-01", at=bench.now.replace(month=3, day=1, hour=5, minute=58, second=0, microsecond=0))
    answer = take(lead, there, page)
    assert answer.status_code == 409
    assert "The bench has changed since these numbers were shown." in answer.get_data(as_text=True)
    assert bench.db.conn.execute("SELECT count(*) FROM batch").fetchone()[0] == 1
    assert counts(lead.page(f"{there}/preview")) == (2, 0, 1)


def test_sending_the_last_step_twice_takes_in_once(bench, lead):
    there, page = looked(lead, bench, GOOD)
    assert [take(lead, there, page).status_code for _twice in range(2)] == [303, 303]
    assert bench.db.conn.execute("SELECT count(*) FROM batch").fetchone()[0] == 3
    assert len(imports.list_runs(bench.db)) == 1


def test_a_fault_in_the_middle_leaves_nothing(bench, lead, monkeypatch):
    there, page = looked(lead, bench, GOOD)
    before = everything(bench.db)
    real, calls = imports.standing, []

    def breaks(db, new):
        calls.append(new)
        if len(calls) == 3:
            raise RuntimeError("the power went")
        return real(db, new)

    monkeypatch.setattr(imports, "standing", breaks)
    with pytest.raises(RuntimeError, match="the power went"):
        take(lead, there, page)
    assert everything(bench.db) == before


def everything(db) -> dict[str, list]:
    """All rows of all tables, but for when somebody was last seen."""
    return {name: list(map(tuple, db.conn.execute(f"SELECT * FROM {name}"))) for name in db.table_names()
            if name != "session"}  # fmt: skip


def test_a_draft_is_forgotten_after_a_day_and_given_up_at_once(bench, lead):
    first, second = begun(lead, GOOD, "first.csv"), begun(lead, GOOD, "second.csv")
    old = to_text(later(bench.now, hours=-25))
    bench.db.conn.execute("UPDATE import_draft SET made_at = ? WHERE file_name = 'first.csv'", (old,))
    page = lead.page("/import")
    assert [e.text for e in page.find("span", class_="file-name")] == ["second.csv"]
    assert lead.get(f"{first}/columns").status_code == 404
    assert lead.post(f"{second}/give-up").status_code == 303
    assert imports.list_drafts(bench.db) == []
    assert timedelta(days=1) == imports.KEPT


def test_there_is_an_end_to_drafts(bench, lead, monkeypatch):
    monkeypatch.setattr(imports, "MOST_DRAFTS", 2)
    for _no in range(2):
        begun(lead, GOOD)
    assert "too many files begun" in said(send(lead, GOOD))[0]


def test_a_draft_goes_on_where_it_can(bench, lead):
    there = begun(lead, GOOD)
    assert lead.get(there).headers["Location"].endswith("/columns")
    assert lead.get(f"{there}/preview").headers["Location"].endswith("/numbers")
    assert read_by(bench)["machine"] == bench.machine
    assert lead.post(f"{there}/take").headers["Location"].endswith("/numbers")
