"""What a program is given: the numbers as they are stored, and nothing that is nobody's business."""

import json
import subprocess
import sys
from threading import Thread

import pytest
from werkzeug.serving import make_server

from webapp.api import examples
from webapp.store import gear, ledger, people, products, results


def test_it_says_what_answers_and_how_far_it_is(program, bench):
    said = program.get("/about")
    assert said["name"] == "Drumside"
    assert said["version"] == "v1"
    assert (said["ledger_seq"], said["ledger_hash"]) == ledger.head(bench.db)
    assert said["now"].endswith("Z")


def test_it_gives_a_batch_with_all_that_belongs_to_it(program, bench, busy):
    batch = program.get(f"/batches/{busy['batch']}")
    assert batch["code"] == "0514-01"
    assert batch["product_id"] == bench.product
    # Integer grams and hundredths in the database; kilograms and scale units here.
    assert (batch["green_kg"], batch["roasted_kg"], batch["drop_celsius"]) == (12.0, 10.2, 205.0)
    assert batch["loss_percent"] == pytest.approx(15)
    whole = next(sample for sample in batch["samples"] if sample["id"] == busy["sample"])
    assert [r["value"] for r in whole["readings"]] == [56.2, 56.3, 56.1, 56.4, 56.2, 56.3]
    assert [r["counts"] for r in whole["readings"]] == [56.2, 56.3, 56.2, 56.4, 56.2, 56.3]
    assert [r["fill"] for r in whole["readings"]] == [1, 1, 1, 2, 2, 2]
    assert whole["readings"][2]["corrected"] is True
    assert [c["id"] for c in batch["reading_corrections"]] == [busy["correction"]]
    (decision,) = batch["decisions"]
    assert (decision["id"], decision["decision"], decision["person"]) == (busy["decision"], "release", "Ravi")
    assert batch["sample_moves"] == batch["fact_corrections"] == []


def test_it_gives_the_results_unrounded(program, bench, busy):
    said = {r["kind"]: r for r in program.get(f"/batches/{busy['batch']}")["results"]}
    stored = results.get_parts(bench.db, busy["batch"])
    assert set(said) == set(stored) == {"whole", "ground", "difference"}
    for kind, part in stored.items():
        assert (said[kind]["value"], said[kind]["u"], said[kind]["chance"]) == (part.value, part.u, part.chance)
        assert said[kind]["give_or_take"] == 2 * part.u


def test_the_list_says_of_a_batch_what_the_batch_says(program, busy):
    for batch in program.follow("/batches"):
        whole = program.get(f"/batches/{batch['id']}")
        assert {name: whole[name] for name in batch} == batch


def test_it_shows_what_was_moved_and_corrected(program, bench, busy):
    """Both stand in the batch that they are about."""
    db, moment = bench.db, "2026-05-14T08:00:00.000Z"
    (other,) = db.query("SELECT id FROM batch WHERE code = '0514-02'")
    who = {"person": bench.people["lead"], "tablet": bench.tablet, "at": moment}
    db.conn.execute(
        "INSERT INTO sample_move VALUES ('m', :sample, :batch, :other, 'The other dish.', :person, :tablet, :at, :at)",
        who | {"sample": busy["sample"], "batch": busy["batch"], "other": other["id"]},
    )
    db.conn.execute(
        "INSERT INTO batch_correction VALUES ('c', :batch, 'Weighed again.', :person, :tablet, :at, :at)",
        who | {"batch": busy["batch"]},
    )
    db.conn.execute("INSERT INTO batch_correction_fact VALUES ('c', 'roasted_g', 10200, 10250)")
    for id in (busy["batch"], other["id"]):
        (move,) = program.get(f"/batches/{id}")["sample_moves"]
        assert (move["from_batch_id"], move["to_batch_id"], move["person"]) == (busy["batch"], other["id"], "Ada")
    (fact,) = program.get(f"/batches/{busy['batch']}")["fact_corrections"]
    assert (fact["fact"], fact["before"], fact["after"]) == ("roasted_g", "10200", "10250")


def test_it_gives_products_with_the_target_in_force_and_every_version(program, bench, busy):
    (product,) = program.follow("/products")
    versions = products.list_target_versions(bench.db, bench.product)
    assert len(versions) == 2  # the comparison has moved it
    assert product["target"]["version"] == 2
    whole = program.get(f"/products/{bench.product}")
    assert [t["id"] for t in whole["targets"]] == [v.id for v in versions]
    assert whole["targets"][0] == product["target"]
    bands = {band["kind"]: (band["lower"], band["centre"], band["upper"]) for band in product["target"]["bands"]}
    assert bands["whole"] == (56.5, 58.0, 59.5)


def test_it_gives_meters_with_their_last_check(program, bench, busy):
    meters = {meter["id"]: meter for meter in program.follow("/meters")}
    assert set(meters) == {meter.id for meter in gear.list_meters(bench.db, active_only=False)}
    last = meters[bench.meter]["last_check"]
    assert last["id"] == busy["meter_check"]
    assert (last["passed"], last["proven"], last["adjusted"]) == (False, True, True)
    assert last["found_deviation"] == pytest.approx(0.3)
    assert {meter["scale"]["lighter"] for meter in meters.values()} == {1, -1}
    assert program.get(f"/meters/{bench.meter}") == meters[bench.meter]
    assert any(meter["last_check"] is None for meter in meters.values())


def test_it_gives_what_waits_and_why(program, bench, busy):
    bench.db.conn.execute("DELETE FROM batch_waiting")
    assert program.follow("/waiting") == []
    bench.db.conn.execute("INSERT INTO batch_waiting VALUES (?, 'changed')", (busy["batch"],))
    (waiting,) = program.follow("/waiting")
    assert (waiting["batch_id"], waiting["batch"], waiting["why"]) == (busy["batch"], "0514-01", "changed")


def everything(program):
    """All that can be asked, as text."""
    lists = {path: program.follow(path) for path in ("/batches", "/waiting", "/products", "/meters")}
    records = [program.get(f"{path}/{item['id']}") for path in ("/batches", "/products", "/meters")
               for item in lists[path]]  # fmt: skip
    return json.dumps([lists, records, program.get("/about"), program.get("/openapi.json")])


def test_it_gives_no_pin_no_hash_and_no_secret(program, bench, busy):
    """Whatever is secret in the database, in any column of that kind, stands in no answer."""
    said = everything(program)
    secret = {
        str(row[name])
        for table, names in {
            "person": ("pin_hash",), "tablet": ("secret_hash",), "session": ("token_hash",),
            "api_token": ("token_hash",), "one_time_code": ("code_hash",),
        }.items()
        for name in names
        for row in bench.db.query(f"SELECT {name} FROM {table}")
    }  # fmt: skip
    assert len(secret) >= 5
    assert not [text for text in secret if text in said]
    assert program.key not in said
    for word in ("pin_hash", "token_hash", "secret_hash", "code_hash", "argon2", "claim_id", "session"):
        assert word not in said


def test_it_is_utf_8_and_leaves_every_text_as_it_was_typed(program, bench):
    people.change_person(bench.db, bench.people["roaster"], "Zoë \"O'Hara\" </script>", "roaster", True,
                         bench.who("lead"), bench.now)  # fmt: skip
    bench.batch("größe \u2028 ☕")
    answer = program.ask("/batches")
    assert answer.mimetype == "application/json"
    (batch,) = answer.get_json()["items"]
    assert batch["code"] == "größe \u2028 ☕"
    assert batch["person"] == "Zoë \"O'Hara\" </script>"


def test_the_example_in_python_reads_every_page(app, bench, program, busy, tmp_path):
    """As it stands on the page, in a process of its own, over the network, two a page."""
    (tmp_path / "drumside.key").write_text(f"{program.key}\n")
    server = make_server("127.0.0.1", 0, app)
    thread = Thread(target=server.serve_forever)
    thread.start()
    try:
        code = examples.python(f"http://127.0.0.1:{server.port}/api/v1/batches?limit=2")
        said = subprocess.run(
            [sys.executable, "-c", code], cwd=tmp_path, text=True, capture_output=True, check=True,
        ).stdout.splitlines()  # fmt: skip
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
    assert [line.split()[0] for line in said] == [batch["code"] for batch in program.follow("/batches")]
    assert len(said) >= 3
