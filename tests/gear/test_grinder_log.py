"""The log of a grinder: what is added to it, by whom, where it says that the grinder stands, and what burrs change."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from tests.support.roastery import later
from webapp.store import burrs, gear, grinder_log, ledger, results
from webapp.store.connect import write
from webapp.store.errors import AlreadyThere, NotFound
from webapp.store.records import insert
from webapp.store.times import to_text


@pytest.fixture
def nine(bench) -> str:
    """A second setting of the grinder."""
    return gear.add_grinder_setting(bench.db, bench.grinder, "9", bench.who("lead"), later(bench.now, days=-30))


def path(bench, what: str) -> str:
    return f"/gear/grinders/{bench.grinder}/log?what={what}"


def form_of(client, at: str, **fields: str) -> dict:
    return {"id": client.page(at).find("input", name="id")[0].attrs["value"]} | fields


def add(bench, what: str, setting=None, **before) -> str:
    """An entry that was made so long before now."""
    at, made = bench.now - timedelta(**before), str(uuid.uuid4())
    grinder_log.add_event(bench.db, made, bench.grinder, what, setting, "", bench.who(), bench.now, made_at=to_text(at))
    return made


def compared(bench, at, *, what="grinders", outcome="carry", sampled=None, other=True) -> None:
    """A comparison of this grinder's setting with another grinder's, settled at `at`; `sampled`: one of its samples."""
    who = bench.who("lead")
    second = gear.add_grinder(bench.db, f"Other {uuid.uuid4().hex[:6]}", who, bench.now)
    theirs = gear.add_grinder_setting(bench.db, second, "5", who, bench.now)
    version = bench.versions["ground"].id
    by = {"person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": to_text(at), "received_at": to_text(at)}
    ids = str(uuid.uuid4()), str(uuid.uuid4())
    with write(bench.db):
        insert(bench.db, "comparison", {
            "id": ids[0], "name": "Two grinders", "what": what, "kind": "ground", "scale_id": bench.scale,
            "a_meter_id": bench.meter, "b_meter_id": bench.meter, "a_method_version_id": version,
            "b_method_version_id": version, "a_setting_id": bench.setting if other else theirs,
            "b_setting_id": theirs, "fills": 1, "readings": 3, "bound": 100, "blind": 0, **by,
        })  # fmt: skip
        if sampled:
            coffee = {"comparison_id": ids[0], "no": 1, "name": "Dark one", "code": "A", "first": "a"}
            insert(bench.db, "comparison_coffee", coffee)
            when = {"made_at": to_text(sampled), "received_at": to_text(sampled)}
            read = {"id": str(uuid.uuid4()), "comparison_id": ids[0], "coffee_no": 1, "side": "a", "role": "lead"}
            insert(bench.db, "comparison_sample", read | by | when)
        settled = {"id": ids[1], "comparison_id": ids[0], "outcome": outcome, "coffees": 5, "bias": 0.1}
        insert(bench.db, "comparison_outcome", settled | {"bias_give": 0.2, "reason": "They agree."} | by)


@pytest.mark.parametrize("what", grinder_log.WHATS)
def test_it_keeps_an_entry_once(sign_in, bench, nine, what):
    client = sign_in("roaster")
    form = form_of(client, path(bench, what), note=" after the shift ")
    if what == "setting":
        form["setting"] = nine
    assert [client.post(path(bench, what), data=form).status_code for _ in range(2)] == [303, 303]
    [there] = grinder_log.list_events(bench.db, bench.grinder)
    assert (there.what, there.note, there.person_name) == (what, "after the shift", "Ravi")
    assert there.setting_name == ("9" if what == "setting" else None)
    assert list(ledger.faults(bench.db)) == []


def test_it_refuses_the_same_number_with_other_content(bench):
    made = add(bench, "cleaned")
    with pytest.raises(AlreadyThere):
        grinder_log.add_event(bench.db, made, bench.grinder, "burrs", None, "", bench.who(), bench.now)


def test_it_says_where_the_grinder_stands_by_the_newest_entry(sign_in, bench, nine):
    """By when it was done, not by when it arrived."""
    assert grinder_log.current_setting(bench.db, bench.grinder) is None
    add(bench, "setting", nine, minutes=5)
    add(bench, "setting", bench.setting, minutes=50)
    add(bench, "cleaned")
    assert grinder_log.current_setting(bench.db, bench.grinder) == nine
    assert grinder_log.current_setting(bench.db, bench.grinder, later(bench.now, minutes=-20)) == bench.setting
    text = sign_in("trainee").page(f"/gear/grinders/{bench.grinder}").find("main")[0].text
    assert "It stands at 9." in text
    assert text.index("Cleaned") < text.index("Setting moved to 9") < text.index("Setting moved to 7")


def test_it_lets_a_trainee_look_and_not_add(sign_in, bench):
    client = sign_in("trainee")
    page = client.page(f"/gear/grinders/{bench.grinder}")
    assert not [a for a in page.find("a") if "/log" in a.attrs["href"] or "grind-check" in a.attrs["href"]]
    assert client.post(path(bench, "cleaned"), data={}).status_code == 403
    assert grinder_log.list_events(bench.db, bench.grinder) == []


@pytest.mark.parametrize("what", ["burrs", "cleaned", "aligned"])
def test_it_says_to_unplug_it_before_somebody_reaches_in(sign_in, bench, what):
    text = sign_in("roaster").page(path(bench, what)).find("main")[0].text
    assert "Unplug the grinder" in text
    assert "Burrs cut" in text
    assert "maker's manual" in text


def test_it_takes_no_setting_of_another_grinder_and_keeps_what_was_typed(sign_in, bench):
    second = gear.add_grinder(bench.db, "Grinder 2", bench.who("lead"), bench.now)
    other = gear.add_grinder_setting(bench.db, second, "fine", bench.who("lead"), bench.now)
    client = sign_in("roaster")
    for setting, words in ((other, "This is no setting of Grinder 1."), ("", "Choose where the grinder stands now.")):
        answer = client.post(path(bench, "setting"), data={"setting": setting, "note": "a word"})
        assert answer.status_code == 422
        assert words in answer.text
        assert 'value="a word"' in answer.text
    with pytest.raises(NotFound):
        add(bench, "setting", other)
    assert grinder_log.list_events(bench.db, bench.grinder) == []


def test_it_adds_nothing_to_a_grinder_that_is_retired(sign_in, bench):
    client = sign_in("roaster")
    gear.retire(bench.db, "grinder", bench.grinder, bench.who("lead"), bench.now)
    answer = client.post(path(bench, "cleaned"), data={"note": "by hand"})
    assert answer.status_code == 422
    assert "Grinder 1 is retired. A lead can bring it back into use first." in answer.text
    assert 'value="by hand"' in answer.text
    assert grinder_log.list_events(bench.db, bench.grinder) == []


def test_it_does_not_believe_a_time_that_is_still_to_come(sign_in, bench):
    client = sign_in("roaster")
    for text in (to_text(later(bench.now, days=400)), "tomorrow"):
        form = form_of(client, path(bench, "cleaned"), made_at=text)
        assert client.post(path(bench, "cleaned"), data=form).status_code == 303
    for there in grinder_log.list_events(bench.db, bench.grinder):
        assert there.made_at <= there.received_at < to_text(later(bench.now, days=1))


def test_it_knows_no_other_kind_of_entry(sign_in, bench):
    assert sign_in("roaster").get(path(bench, "painted")).status_code == 404


# A change of burrs ------------------------------------------------------------------------------------------------


def state(bench, setting=None) -> str | None:
    return grinder_log.burrs_state(bench.db, setting or bench.setting, to_text(bench.now))


def test_it_marks_every_setting_of_a_grinder_after_new_burrs(bench, nine):
    assert state(bench) is None
    add(bench, "cleaned", hours=3)
    assert state(bench) is None
    add(bench, "burrs", hours=2)
    assert state(bench) == state(bench, nine) == "burrs"
    assert grinder_log.burrs_state(bench.db, bench.setting, to_text(later(bench.now, hours=-3))) is None


@pytest.mark.parametrize("outcome", ["carry", "move"])
@pytest.mark.parametrize("what", ["grinders", "settings"])
def test_it_ends_the_mark_with_a_comparison_that_is_settled(bench, what, outcome):
    add(bench, "burrs", hours=2)
    compared(bench, later(bench.now, hours=-1), what=what, outcome=outcome, sampled=later(bench.now, minutes=-90))
    assert state(bench) is None
    # Until it was settled, it was not.
    assert grinder_log.burrs_state(bench.db, bench.setting, to_text(later(bench.now, minutes=-70))) == "burrs"
    add(bench, "burrs", minutes=10)
    assert state(bench) == "burrs"


@pytest.mark.parametrize(
    "change",
    [{"what": "meters"}, {"what": "methods"}, {"outcome": "not_comparable"}, {"other": False}],
    ids=["of meters", "of methods", "that failed", "of other grinders"],
)
def test_it_does_not_end_the_mark_with_another_comparison(bench, change):
    add(bench, "burrs", hours=2)
    compared(bench, later(bench.now, hours=-1), **change)
    assert state(bench) == "burrs"


@pytest.mark.parametrize("hours", [3, 2.5])
def test_it_does_not_end_the_mark_with_what_was_compared_on_the_old_burrs(bench, hours):
    """Settled before the change; or settled after it, on coffee that was ground before."""
    add(bench, "burrs", hours=2)
    sampled = later(bench.now, hours=-hours)
    compared(bench, sampled if hours == 3 else later(bench.now, hours=-1), sampled=sampled)
    assert state(bench) == "burrs"


def test_it_marks_what_was_ground_before_the_entry_arrived(bench):
    """An entry that comes out of an outbox late is about the time when the burrs were changed."""
    old, new = bench.batch(), bench.batch()
    bench.sample(old.id, "ground", [61.0, 61.2, 61.1], at=later(bench.now, hours=-2))
    bench.sample(new.id, "whole", [56.0, 56.1, 56.1], at=later(bench.now, minutes=-35))
    bench.sample(new.id, "ground", [61.0, 61.2, 61.1], at=later(bench.now, minutes=-30))
    add(bench, "burrs", hours=1)
    states = [results.get_batch_result(bench.db, batch.id).grinder_state for batch in (old, new)]
    assert states == [None, "burrs"]
    parts = results.get_parts(bench.db, new.id)
    assert {kind: part.grinder_state for kind, part in parts.items()} == {
        "whole": None, "ground": "burrs", "difference": "burrs"
    }  # fmt: skip
    assert parts["ground"].verdict == "inside"
    assert results.rebuild(bench.db) == []
    bench.db.conn.execute("UPDATE part_result SET grinder_state = NULL")
    bench.db.conn.execute("UPDATE batch_result SET grinder_state = NULL")
    assert results.rebuild(bench.db, store=True) == [f"the result of batch {new.id}"]
    assert results.rebuild(bench.db) == []


def test_it_says_so_on_the_result_the_batch_and_the_grinder(sign_in, bench):
    batch = bench.batch()
    add(bench, "burrs", hours=1)
    bench.sample(batch.id, "ground", [61.0, 61.2, 61.1])
    client = sign_in("roaster")
    day = burrs.burrs_changed(bench.db, bench.setting, to_text(bench.now))[:4]
    for page in (f"/batches/{batch.id}/result", f"/batches/{batch.id}", f"/gear/grinders/{bench.grinder}"):
        text = client.page(page).find("main")[0].text
        assert f"{day}. Compare before" in text, page
        assert "The burrs were changed on " in text, page
        assert "Compare before you trust the old targets." in text, page
