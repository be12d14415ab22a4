"""A file of waiting records taken in on the server itself, where no tablet is at hand."""

import hashlib
import json

import pytest

from tests.people.test_commands import run
from tests.support import comparing, studying
from tests.support.outbox import claim_record, decision_record, envelope, roast
from webapp.store import batches, checks, claims, comparisons, decisions, gear, grinder_log, precision, samples
from webapp.store.times import to_text


@pytest.fixture
def waiting(tmp_path):
    """waiting(records) writes the file that a tablet would, and gives its path."""

    def write(records: list[dict], spoil=bytes) -> str:
        head = {"what": "drumside waiting records", "format": 1, "made_at": "2026-03-02T08:00:00.000Z", "build": "x"}
        lines = [head | {"count": len(records)}, *({"record": r, "noted": {"state": "saved"}} for r in records)]
        body = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in lines).encode()
        end = json.dumps({"sha256": hashlib.sha256(body).hexdigest()}) + "\n"
        path = tmp_path / "waiting.jsonl"
        path.write_bytes(spoil(body + end.encode()))
        return str(path)

    return write


def take(app, path: str, tablet: str = "bench tablet", by: str = "Ada"):
    return run(app, "take-in", path, "--tablet", tablet, "--by", by)


def test_it_stores_everything_once_in_the_name_of_who_captured(app, bench, waiting):
    claim = claim_record(bench, "trainee")
    batch, *rest = roast(bench)
    later = roast(bench, by="trainee", claim_id=claim["id"])
    path = waiting([batch, *rest, claim, *later])
    for _again in range(2):
        said = take(app, path)
        assert (said.exit_code, said.output) == (0, "Stored, now or before: 7 of 7.\n")
    found = batches.get_batch(bench.db, batch["id"])
    assert (found.person_id, found.sent_by) == (bench.people["roaster"], bench.people["lead"])
    assert [s.id for s in samples.get_samples(bench.db, batch["id"])] == [r["id"] for r in rest]
    assert batches.get_batch(bench.db, later[0]["id"]).claim_id == claim["id"]
    assert claims.get_claim(bench.db, claim["id"]).confirmed_at is None


def test_it_takes_in_what_was_done_to_the_gear_and_a_compared_coffee(app, bench, waiting):
    """One record of each kind that needs no batch, as the forms make them."""
    there, moment, gauged = comparing.plan(bench), to_text(bench.now), {"grinder": bench.grinder, "note": ""}
    plate = {"meter": bench.meter, "plate": gear.get_meter(bench.db, bench.meter).plate.id, "plate_typed": "Plate 1"}
    ticked = {f"steps-{no}-done": "y" for no in range(4)} | {f"steps-{no}-at": moment for no in range(4)}
    found = {f"found-{no}-value": text for no, text in enumerate(("60.1", "60.0", "60,1"))}
    study = studying.plan(bench)
    studied = studying.form(study=study.id, place="2")
    del studied["id"]
    compared = comparing.form(comparison=there.id, coffee="1", side="a")
    del compared["id"]
    forms = {
        "meter_check": {"made_at": moment, "checklist": "walked", **plate, **ticked, **found},
        "grinder_event": gauged | {"what": "cleaned"},
        "grind_check": gauged | {"setting": bench.setting, "sieve": "850", "total": "20", "passing": "14,6"},
        "comparison_sample": compared,
        "precision_fill": studied,
    }
    path = waiting([envelope(bench, kind, "roaster", None, form) for kind, form in forms.items()])
    for _again in range(2):
        said = take(app, path)
        assert (said.exit_code, said.output) == (0, "Stored, now or before: 5 of 5.\n")
    [check] = checks.list_checks(bench.db, bench.meter)
    [event] = grinder_log.list_events(bench.db, bench.grinder)
    [sieved] = grinder_log.list_grind_checks(bench.db, bench.grinder)
    [sample] = comparisons.list_samples(bench.db, there.id)
    [fill] = precision.list_fills(bench.db, study.id)
    assert {one.person_name for one in (check, event, sieved, sample, fill)} == {"Ravi"}
    assert {one.sent_by for one in (check, event, sieved, sample, fill)} == {bench.people["lead"]}
    assert fill.counted == [61.1, 61.2]
    assert (check.readings[2].typed, event.what, sieved.passing_cg) == ("60,1", "cleaned", 1460)
    assert [r.typed for r in sample.readings] == ["56.1", "56.2"]


def test_it_leaves_decisions_to_a_tablet_even_of_whoever_takes_it_in(app, bench, waiting):
    records = roast(bench)
    said = take(app, waiting([*records, decision_record(bench, records[0]["id"])]), by="Ravi")
    assert said.exit_code == 1
    assert "not stored: decision" in said.output
    assert "needs its person's PIN on a tablet" in said.output
    assert said.output.endswith("Stored, now or before: 3 of 4.\n")
    assert decisions.get_decisions(bench.db, records[0]["id"]) == []


def test_it_says_what_is_wrong_with_a_record_and_stores_the_others(app, bench, waiting):
    batch, whole, ground = roast(bench)
    whole["form"]["fills-0-readings-0-value"] = "5612"
    said = take(app, waiting([batch, whole, ground]))
    assert said.exit_code == 1
    assert f"not stored: sample {whole['id']}: " in said.output
    assert [s.id for s in samples.get_samples(bench.db, batch["id"])] == [ground["id"]]


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda content: content.replace(b"12,0", b"13,0"), "this file is not whole, or it was changed"),
        (lambda content: content[: len(content) // 2], "this file is not whole, or it was changed"),
        (lambda content: content[content.index(b"\n") + 1 :], "this is no file of waiting records"),
        (lambda content: b"a;b\n1;2\n", "this is no file of waiting records"),
        (lambda content: b"[]\n[]\n", "this is no file of waiting records"),
        (lambda content: b"", "this is no file of waiting records"),
        (lambda content: b"\xff\xfe\n\xff", "this is no file of waiting records"),
    ],
    ids=["changed", "cut off", "without its head", "another file", "lists", "empty", "no text"],
)
def test_it_refuses_a_file_that_is_not_whole(app, bench, waiting, spoil, words):
    said = take(app, waiting(roast(bench), spoil))
    assert said.exit_code == 1
    assert words in said.output
    assert bench.db["batch"].count == 0


def test_it_asks_for_a_tablet_and_a_person_that_are_there(app, bench, waiting):
    path = waiting(roast(bench))
    assert "no tablet is called Shed" in take(app, path, tablet="Shed").output
    assert "nobody who works here is called Eve" in take(app, path, by="Eve").output
