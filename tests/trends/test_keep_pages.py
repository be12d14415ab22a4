"""Pages are worked out once, and anew as soon as anything was written: by whomever."""

import uuid
from datetime import timedelta

import pytest

from tests.support.roastery import Roastery
from webapp.store import connect, corrections, grinder_log, products, results, samples
from webapp.trends import page, worked_out


@pytest.fixture
def reader(sign_in):
    return sign_in("trainee")


@pytest.fixture
def made(monkeypatch):
    """Counts how often a page is worked out."""
    found, real = [], page.make

    def counted(*args, **how):
        found.append(args[2])
        return real(*args, **how)

    monkeypatch.setattr(page, "make", counted)
    return found


def text_of(client, path):
    return client.page(path).find("main")[0].text


def test_it_works_a_page_out_once(reader, bench, roast, made):
    roast([56.0, 56.2])
    path = f"/trends/{bench.product}/whole"
    first = text_of(reader, path)
    assert made == ["whole"]
    assert text_of(reader, path) == first
    assert made == ["whole"]
    # Another choice is another page.
    reader.get(f"{path}?newest=30")
    reader.get(f"{path}?lot=Nowhere")
    reader.get(f"/trends/{bench.product}/ground")
    assert made == ["whole", "whole", "whole", "ground"]


def test_it_is_anew_after_another_process_wrote(path, reader, bench, roast):
    """Other workers and commands have connections of their own: what they write is seen all the same."""
    roast([56.0, 56.2], ago=5)
    where = f"/trends/{bench.product}/whole"
    assert "R-0-000" not in text_of(reader, where)
    other = connect.connect(path)
    elsewhere = Roastery(other, now=bench.now)
    elsewhere.__dict__.update({k: v for k, v in bench.__dict__.items() if k not in ("db", "now")})
    at = bench.now - timedelta(hours=1)
    batch = elsewhere.batch("R-0-000", at=at)
    elsewhere.sample(batch.id, "whole", [56.1] * 3, at=at + timedelta(minutes=5))
    other.close()
    assert "R-0-000" in text_of(reader, where)


@pytest.mark.parametrize("kind", ["log", "name", "correction"])
def test_it_is_anew_after_each_kind_of_write(reader, bench, db, roast, kind):
    """Whatever a page shows leaves a line in the ledger when it changes: an event, a name, a corrected reading."""
    batches = roast([56.0, 56.7, 56.9], ground=5.0)
    where = f"/trends/{bench.product}/ground"
    before = text_of(reader, where)
    lead = bench.who("lead")
    if kind == "log":
        at = bench.now - timedelta(hours=1.5)
        grinder_log.add_event(db, str(uuid.uuid4()), bench.grinder, "burrs", None, "", lead, at)
        expected = "New burrs"
    elif kind == "name":
        there = products.get_product(db, bench.product)
        products.change_product(db, bench.product, "Renamed House", there.short, True, lead, bench.now)
        expected = "Renamed House"
    else:
        sample = next(s for s in samples.get_samples(db, batches[0].id) if s.kind == "ground")
        corrections.add_correction(db, str(uuid.uuid4()), sample.id, 1, 1, 6160, "Mistyped", lead, bench.now)
        expected = "61.2"
    assert expected not in before
    assert expected in text_of(reader, where)


def test_it_is_anew_after_results_were_rebuilt(app, reader, bench, db, roast):
    """Derived numbers alone leave no line: rebuilding them does, if it mended anything."""
    roast([56.0, 56.2, 56.1])
    where = f"/trends/{bench.product}/whole"
    db.conn.execute("UPDATE part_result SET value = 44.4 WHERE kind = 'whole'")
    assert "44.4" in text_of(reader, where)
    run = app.test_cli_runner().invoke
    assert run(args=["rebuild-results", "--write"]).exit_code == 0
    assert "44.4" not in text_of(reader, where)
    assert results.rebuild(db) == []


def test_it_keeps_no_more_than_there_is_room_for(app, bench, db, monkeypatch):
    monkeypatch.setattr(worked_out, "MOST_POINTS", 1000)
    monkeypatch.setattr(worked_out, "_kept", type(worked_out._kept)())
    with app.test_request_context():
        for no in range(9):
            assert worked_out.once(db, (no,), lambda no=no: no, lambda _made: 100) == no
        assert len(worked_out._kept) == 2
        # One that is larger than all the room stands alone.
        worked_out.once(db, ("large",), lambda: "large", lambda _made: 9000)
        assert [made for made, _size in worked_out._kept.values()] == ["large"]
