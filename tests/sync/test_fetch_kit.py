"""The kit: everything to prepare, read and judge without a server, and nothing more."""

import json
from datetime import timedelta

import pytest

from tests.support import comparing, studying
from tests.support.outbox import claim_record, new_id
from webapp import measure
from webapp.bench import page as pages
from webapp.store import compared, gear, grinder_log, methods, people, products, times

MEASURED = {"sigmaR", "sigmaF", "source"}
SHAPE = {
    "format": int, "made_at": str, "build": str, "person_id": str,
    "site": {"name": str, "time_zone": str, "idle_minutes": int},
    "tablet": {"id": str, "name": str},
    "people": [{"id": str, "name": str, "role": str, "auto_point": bool, "short_checklist": bool, "signed": {}}],
    "products": [
        {
            "id": str, "name": str, "short": str,
            "target": {
                "id": str, "no": int, "scale_id": str, "rule": {"kind": str, "confidence": float},
                "methods": {"whole": str, "ground": str},
                "bands": {
                    kind: {"lower": float, "centre": float, "upper": float}
                    for kind in ("whole", "ground", "difference")
                },
            },
        }
    ],
    "machines": [{"id": str, "name": str}],
    "scales": [{"id": str, "name": str, "lower": float, "upper": float, "step": float, "lighter": int}],
    "meters": [
        {
            "id": str, "name": str, "scale_id": str,
            "plate": ({"id": str, "name": str, "assigned": float, "tolerance": float}, None), "uMeter": float,
            "control": {
                "rule": ({"due": str, "every": (int, None), "warm_up_s": int, "planned": int}, None),
                "last": ({"made_at": str, "name": str, "proven": bool}, None), "due_at": (str, None), "starts": [str],
                "since": int,
            },
        }
    ],
    "settings": [{"id": str, "grinder_id": str, "grinder": str, "name": str, "burrs": None}],
    "methods": [
        {
            "id": str, "version_id": str, "no": int, "name": str, "kind": str, "active": bool, "dish": str,
            "planned_readings": int, "planned_fills": int, "rows": int,
            "setting": ({"id": str, "grinder": str, "name": str, "now": str}, None),
            "steps": [
                {
                    "no": int, "title": str, "body": str, "why": str, "done_label": str, "picture": str,
                    "caution": str, "timer_s": (int, None), "note_label": str, "note_unit": str,
                    "wrong": str,
                }
            ],
        }
    ],
    "sigmas": [{"version_id": str, "scale_id": str, "kind": str, "sigmaR": float, "sigmaF": float, "source": str,
                "studied": None}],
    "history": [
        {
            "product_id": str, "kind": str, "scale_id": str, "version_id": str,
            "mean": (float, None), "sd": (float, None), "n": int, "wholeDigits": (int, None),
        }
    ],
    "batches": [
        {"id": str, "code": str, "product_id": str, "machine_id": str, "day": str, "roasted_at": str, "read": [str],
         "hands": None}
    ],
    "grinders": [{"id": str, "name": str, "now": str}],
    "comparisons": [
        {
            "id": str, "name": str, "what": str, "kind": str, "scale_id": str, "blind": bool, "fills": int,
            "readings": int, "rows": int,
            "sides": {
                side: {
                    "meter": str, "grinder": None, "setting": None, "person": None,
                    "method": {
                        "name": str, "no": int, "dish": str,
                        "steps": [{"title": str, "body": str, "caution": str, "setting": bool}],
                    },
                }
                for side in ("a", "b")
            },
            "coffees": [
                {
                    "no": int, "code": str, "name": None, "first": str,
                    "read": [{"id": str, "side": str, "fills": int, "at": str, "name": str}],
                }
            ],
        }
    ],
    "studies": [
        {
            "id": str, "name": str, "coffee": str, "kind": str, "scale_id": str, "meter": str, "grinder": str,
            "setting": str, "fills": int, "readings": int, "rows": int,
            "method": {
                "name": str, "no": int, "dish": str,
                "steps": [{"title": str, "body": str, "caution": str, "setting": bool}],
            },
            "places": [{"no": int, "person_id": str, "name": str, "fill_no": int, "read": [str]}],
        }
    ],
    "claims": [{"claim_id": str, "person": {"id": str, "name": str}, "claimed_at": str, "confirmed_at": None}],
}  # fmt: skip


def differs(found, shape, where="kit"):
    """Every place where something has another shape; nothing if all fits."""
    if isinstance(shape, tuple):
        return min((differs(found, s, where) for s in shape), key=len)
    if isinstance(shape, dict):
        if not isinstance(found, dict) or set(found) != set(shape):
            return [f"{where}: {found!r}"]
        return [fault for name in shape for fault in differs(found[name], shape[name], f"{where}.{name}")]
    if isinstance(shape, list):
        if not isinstance(found, list):
            return [f"{where}: no list"]
        return [f for n, item in enumerate(found) for f in differs(item, shape[0], f"{where}[{n}]")]
    if shape is None:
        return [] if found is None else [f"{where}: {found!r}"]
    return [] if type(found) is shape else [f"{where}: {found!r} is no {shape.__name__}"]


def fetch(box):
    answer = box.client.get("/kit")
    assert answer.status_code == 200
    assert answer.headers["Cache-Control"] == "no-store"
    return answer.get_json()


@pytest.fixture
def busy(bench):
    """A bench at work: six batches read, one open, a claim, a product without a target, a blind comparison."""
    for n in range(6):
        batch = bench.batch(f"B-{n}", at=bench.now - timedelta(minutes=10 * n + 1))
        bench.sample(batch.id, "whole", [56.37 + n / 50, 56.41, 56.29])
        bench.sample(batch.id, "ground", [61.13 - n / 50, 61.17, 60.93])
    grinder_log.add_event(bench.db, new_id(), bench.grinder, "setting", bench.setting, "", bench.who(), bench.now)
    comparing.read(bench, comparing.plan(bench), 1, "a", [57.31, 57.23])
    studying.read(bench, studying.plan(bench), 1, [58.31, 58.23])
    return bench


@pytest.mark.parametrize("role", ["trainee", "roaster", "lead"])
def test_it_has_this_shape_and_no_other(busy, outbox, role):
    box = outbox(role)
    box.send_one(claim_record(busy, "lead"))
    kit = fetch(box)
    assert differs(kit, SHAPE) == []
    lists = (
        "people", "products", "machines", "scales", "meters", "settings", "methods", "sigmas", "history", "batches",
        "grinders", "comparisons", "studies",
    )  # fmt: skip
    for name in lists:
        assert kit[name], name
    assert kit["person_id"] == busy.people[role]


def test_it_holds_no_reading_no_hash_and_no_secret__T20(busy, outbox):
    box = outbox("lead")
    text = box.client.get("/kit").text
    for row in busy.db.query("SELECT pin_hash FROM person"):
        assert row["pin_hash"] not in text
    for table, column in (("tablet", "secret_hash"), ("session", "token_hash"), ("ledger", "hash")):
        for row in busy.db.query(f"SELECT {column} AS secret FROM {table}"):
            assert row["secret"] not in text
    assert busy.tablet_secret not in text
    for word in ("argon2", "pin", "hash", "secret", "token", "verdict", "chance", "reading_", "typed"):
        assert f'"{word}' not in text
    numbers = list(every_number(json.loads(text)))
    stored = (
        "SELECT value / 100.0 AS value FROM reading UNION SELECT value / 100.0 FROM comparison_reading"
        " UNION SELECT value / 100.0 FROM precision_reading"
        " UNION SELECT value FROM part_result"
    )
    for row in busy.db.query(stored):
        near = [number for number in numbers if row["value"] == pytest.approx(number, abs=1e-4)]
        assert not near
        assert row["value"] * 100 not in numbers


def every_number(found):
    """All numbers in a JSON value."""
    if isinstance(found, dict | list):
        for item in found.values() if isinstance(found, dict) else found:
            yield from every_number(item)
    elif isinstance(found, int | float) and not isinstance(found, bool):
        yield found


def test_it_keeps_a_blind_comparison_blind_and_leaves_out_what_is_concluded(bench, outbox):
    blind, other = comparing.plan(bench), comparing.second_meter(bench, name="Meter O")
    side = comparing.NewSide(other, bench.versions["whole"].id, None)
    told = comparing.plan(bench, name="Told", blind=False, b=side)
    sample = comparing.read(bench, blind, 2, "b", [57.31], [57.23], role="trainee")
    text = outbox("lead").client.get("/kit").text
    kit = json.loads(text)
    by_id = {there["id"]: there for there in kit["comparisons"]}
    assert {c["name"] for c in by_id[blind.id]["coffees"]} == {None}
    assert [c["name"] for c in by_id[told.id]["coffees"]] == [c.name for c in told.coffees]
    # Whatever is said of its coffees, no name is among it.
    assert not any(coffee.name in json.dumps(by_id[blind.id]) for coffee in blind.coffees)
    [[read]] = [c["read"] for c in by_id[blind.id]["coffees"] if c["read"]]
    assert (read["id"], read["side"], read["fills"], read["name"]) == (sample.id, "b", 2, "Tomas")
    assert "57.31" not in text
    assert "5731" not in text
    outcome = compared.NewOutcome(new_id(), told.id, "not_comparable", 12, 0.0, 0.1, "of a test")
    compared.add_outcome(bench.db, outcome, [], "", bench.who("lead"), bench.now)
    assert [there["id"] for there in fetch(outbox("lead"))["comparisons"]] == [blind.id]


def test_it_says_which_fills_of_a_study_are_read_and_leaves_out_what_is_closed(bench, outbox):
    there, closed = studying.plan(bench), studying.plan(bench, kind="whole")
    fill = studying.read(bench, there, 2, [58.31, 58.23])
    studying.accept(bench, closed)
    text = outbox("lead").client.get("/kit").text
    [study] = json.loads(text)["studies"]
    assert study["id"] == there.id
    read = {place["no"]: place["read"] for place in study["places"]}
    assert read == {no: [fill.id] if no == 2 else [] for no in range(1, 7)}
    assert {place["name"] for place in study["places"]} == {"Ada", "Ravi"}
    assert "58.31" not in text
    assert "5831" not in text


def test_it_does_not_give_away_the_result_of_a_product_with_few_batches(bench, outbox):
    """The mean of one batch would be its result; below five the history says nothing anyway."""
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.37, 56.41, 56.29])
    [whole] = [h for h in fetch(outbox())["history"] if h["kind"] == "whole"]
    assert (whole["mean"], whole["sd"], whole["n"]) == (None, None, 1)


def test_it_says_the_same_as_the_capture_page(busy, outbox):
    """A tablet that asks the page and one that asks its kit compute alike."""
    box = outbox()
    open_batch = busy.batch("OPEN")
    kit = fetch(box)
    for kind in ("whole", "ground"):
        form = box.client.page(f"/batches/{open_batch.id}/{kind}").find("form", class_="capture")[0]
        page = json.loads(form.attrs["data-kit"])
        [product] = kit["products"]
        target = product["target"]
        [method] = [m for m in kit["methods"] if m["id"] == target["methods"][kind]]
        [meter] = [m for m in kit["meters"] if m["id"] == busy.meter]
        [scale] = [s for s in kit["scales"] if s["id"] == meter["scale_id"]]
        key = {"version_id": method["version_id"], "scale_id": scale["id"]}
        [sigmas] = [s for s in kit["sigmas"] if {k: s[k] for k in key} == key]
        [history] = [h for h in kit["history"] if (h["kind"], h["scale_id"]) == (kind, scale["id"])]
        assert page == {
            "kind": kind, "planned": method["planned_readings"],
            "scale": {k: scale[k] for k in ("lower", "upper", "step", "lighter")},
            "sigmas": {k: sigmas[k] for k in MEASURED}, "uMeter": meter["uMeter"], "band": target["bands"][kind],
            "rule": target["rule"], "history": {k: history[k] for k in ("mean", "sd", "n")},
            "wholeDigits": history["wholeDigits"],
        }  # fmt: skip
        assert method["rows"] == pages.room_for(method["planned_readings"])
        assert len(method["steps"]) == len(busy.versions[kind].steps)


def test_it_lists_the_batches_of_today_and_yesterday_with_what_was_read(bench, outbox):
    old = bench.batch("OLD", at=bench.now - timedelta(days=4))
    batch = bench.batch("NEW")
    bench.sample(batch.id, "ground", [61.0, 61.1, 60.9])
    bench.sample(batch.id, "ground", [61.0, 61.1, 60.9])
    kit = fetch(outbox())
    assert [(b["code"], b["read"]) for b in kit["batches"]] == [("NEW", ["ground"])]
    assert old.id not in json.dumps(kit)


def test_it_offers_what_is_in_use_and_what_a_target_names(bench, outbox):
    lead = bench.who("lead")
    gone = people.add_person(bench.db, "Mira", "roaster", "835170", lead, bench.now)
    people.change_person(bench.db, gone, "Mira", "roaster", False, lead, bench.now)
    other = gear.add_machine(bench.db, "Machine 2", lead, bench.now)
    gear.retire(bench.db, "machine", other, lead, bench.now)
    gear.retire(bench.db, "meter", bench.flipped_meter, lead, bench.now)
    gear.retire(bench.db, "method", bench.methods["whole"], lead, bench.now)
    steps = bench.versions["whole"].steps[:2]
    unused = methods.add_method(bench.db, "Old way", "whole", "", 2, 1, None, steps, lead, bench.now)
    gear.retire(bench.db, "method", unused, lead, bench.now)
    out = products.add_product(bench.db, "Past", "P", bench.scale, "simple", 0.8, None, None, [], lead, bench.now)
    products.change_product(bench.db, out, "Past", "P", False, lead, bench.now)
    kit = fetch(outbox())
    assert [p["name"] for p in kit["people"]] == ["Ada", "Ravi", "Tomas"]
    assert [m["name"] for m in kit["machines"]] == ["Machine 1"]
    assert [m["name"] for m in kit["meters"]] == ["Meter A"]
    assert [p["name"] for p in kit["products"]] == ["Lantern House"]
    assert {(m["id"], m["active"]) for m in kit["methods"]} == {
        (bench.methods["whole"], False), (bench.methods["ground"], True),
    }  # fmt: skip


def test_it_says_when_and_by_which_build_it_was_made(app, bench, outbox):
    kit = fetch(outbox())
    assert kit["build"] == app.config["BUILD"]
    assert abs(times.from_text(kit["made_at"]) - bench.now) < timedelta(minutes=5)


def test_it_names_the_claims_of_this_tablet_that_wait_for_a_pin(bench, outbox, second_tablet):
    mine, elsewhere = claim_record(bench, "lead"), claim_record(bench, "roaster")
    second_tablet("trainee").send_one(elsewhere)
    box = outbox()
    box.send_one(mine)
    assert [c["claim_id"] for c in fetch(box)["claims"]] == [mine["id"]]


def test_it_names_the_least_history_that_says_something():
    assert measure.LEAST_HISTORY == 5
