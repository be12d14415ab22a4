"""Storing the two methods that come with the app."""

from __future__ import annotations

from webapp.gear.defaults import install_default_methods
from webapp.store import gear, methods
from webapp.store.who import SYSTEM
from webapp.ui.default_methods import DEFAULT_METHODS


def without_methods(db, bench):
    """The roastery after both of its methods were retired."""
    for method_id in bench.methods.values():
        gear.retire(db, "method", method_id, SYSTEM, bench.now)


def test_it_stores_every_word_of_both(db, bench):
    for method in DEFAULT_METHODS:
        stored = methods.version_in_force(db, bench.methods[method.kind])
        assert (stored.name, stored.kind, stored.dish) == (method.name, method.kind, method.dish)
        assert (stored.planned_readings, stored.planned_fills) == (method.planned_readings, method.planned_fills)
        for no, (step, given) in enumerate(zip(stored.steps, method.steps, strict=True), start=1):
            assert step.no == no
            for name in ("title", "body", "why", "done_label", "picture"):
                assert getattr(step, name) == getattr(given, name)
            for name in ("caution", "note_label", "note_unit", "timer_s"):
                assert (getattr(step, name) or None) == getattr(given, name)


def test_it_gives_the_setting_to_the_method_for_ground_coffee_only(db, bench):
    made = install_default_methods(db, SYSTEM, bench.now, bench.setting)
    assert methods.version_in_force(db, made["whole"]).grinder_setting_id is None
    assert methods.version_in_force(db, made["ground"]).setting_name == "7"


def test_it_is_offered_where_there_is_no_method(sign_in, db, bench):
    client = sign_in("lead")
    offer = {"action": "/methods/defaults"}
    assert client.page("/methods").find("form", **offer) == []
    without_methods(db, bench)
    assert len(client.page("/methods").find("form", **offer)) == 1
    assert client.post("/methods/defaults", data={"setting": bench.setting}).status_code == 303
    assert [(m.kind, m.setting_name, m.person_name) for m in methods.list_methods(db)] == [
        ("whole", None, "Ada"), ("ground", "7", "Ada"),
    ]  # fmt: skip


def test_it_stores_them_once(sign_in, db, bench):
    without_methods(db, bench)
    client = sign_in("lead")
    for _ in range(2):
        client.post("/methods/defaults", data={"setting": bench.setting})
    assert len(methods.list_methods(db)) == 2


def test_it_stores_them_without_a_setting_and_says_what_is_missing(sign_in, db, bench):
    without_methods(db, bench)
    client = sign_in("lead")
    client.post("/methods/defaults", data={"setting": "11111111-0000-4000-8000-000000000001"})
    ground = methods.list_methods(db, "ground")[0]
    assert ground.grinder_setting_id is None
    assert "No grinder setting is chosen." in client.get(f"/methods/{ground.method_id}").get_data(as_text=True)
    assert "no grinder setting" in client.get("/methods").get_data(as_text=True)
