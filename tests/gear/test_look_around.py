"""Looking at the gear: everybody may, and a new bench is led through its parts in order."""

from __future__ import annotations

import pytest

from webapp.store import gear, methods, products
from webapp.store.who import SYSTEM


def text_of(client, path):
    """The visible text of a page, on one line."""
    return " ".join(client.page(path).find("main")[0].text.split())


@pytest.mark.parametrize("role", ["trainee", "roaster", "lead"])
def test_it_opens_every_page_to_everybody(sign_in, bench, role):
    client = sign_in(role)
    for path in (
        "/gear",
        f"/gear/meters/{bench.meter}",
        f"/gear/machines/{bench.machine}",
        f"/gear/grinders/{bench.grinder}",
        "/methods",
        f"/methods/{bench.methods['whole']}",
        f"/methods/{bench.methods['ground']}/versions/1",
        "/products",
        f"/products/{bench.product}",
    ):
        client.page(path)


@pytest.mark.parametrize("role", ["trainee", "roaster"])
def test_it_lets_only_a_lead_change_anything(sign_in, bench, role):
    client = sign_in(role)
    forms = (
        "/gear/scales/new", "/gear/meters/new", "/gear/machines/new", "/gear/grinders/new", "/methods/new",
        "/products/new", f"/gear/meters/{bench.meter}/plate", f"/gear/machine/{bench.machine}/name",
        f"/methods/{bench.methods['whole']}/edit", f"/products/{bench.product}/targets",
        f"/products/{bench.product}/name",
    )  # fmt: skip
    for path in forms:
        client.page(path, status=403)
        assert client.post(path, data={"name": "Mine"}).status_code == 403
    for path in (f"/gear/machine/{bench.machine}/use", f"/gear/grinders/{bench.grinder}", "/methods/defaults"):
        assert client.post(path, data={"name": "Mine", "use": "0"}).status_code == 403
    offered = [link.attrs["href"] for link in client.page("/gear").find("a")]
    assert not [href for href in offered if href.endswith("/new")]
    assert gear.get_machine(bench.db, bench.machine) == gear.Machine(bench.machine, "Machine 1", True)


def test_it_says_a_scale_in_words_with_an_example(sign_in, bench):
    shown = text_of(sign_in("trainee"), "/gear")
    assert "0.0 to 150.0 in steps of 0.1" in shown
    assert "The larger number is lighter: 93.8 is lighter than 56.2." in shown
    assert "The smaller number is lighter: 37.5 is lighter than 62.5." in shown


def test_it_leads_a_new_bench_through_its_parts_in_order(sign_in, bench, db):
    for kind in ("machine", "meter", "grinder", "method", "product"):
        for row in list(db.query(f"SELECT id FROM {kind}")):
            gear.retire(db, kind, row["id"], SYSTEM, bench.now)
    client = sign_in("lead")

    def open_parts():
        marks = [item.attrs.get("class") for item in client.page("/gear").find("li")]
        return [mark for mark in marks if mark in ("done", "next", "later")]

    # The scales cannot be retired; everything else is missing.
    assert open_parts() == ["done", "next", "later", "later", "later", "later"]
    gear.bring_back(db, "meter", bench.meter, SYSTEM, bench.now)
    gear.bring_back(db, "machine", bench.machine, SYSTEM, bench.now)
    assert open_parts() == ["done", "done", "done", "next", "later", "later"]
    gear.bring_back(db, "grinder", bench.grinder, SYSTEM, bench.now)
    gear.bring_back(db, "method", bench.methods["whole"], SYSTEM, bench.now)
    assert open_parts() == ["done", "done", "done", "done", "next", "later"]
    gear.bring_back(db, "method", bench.methods["ground"], SYSTEM, bench.now)
    gear.bring_back(db, "product", bench.product, SYSTEM, bench.now)
    assert open_parts() == []


def test_it_says_what_will_be_where_nothing_is_yet(sign_in, bench, db):
    for kind in ("machine", "meter", "grinder", "method", "product"):
        db.conn.execute(f"UPDATE {kind} SET active = 0")
    client = sign_in("lead")
    assert "Two methods come with Drumside" in text_of(client, "/methods")
    assert methods.list_methods(db) == []
    assert products.list_products(db) == []


def test_it_says_when_there_is_no_such_thing(sign_in):
    client = sign_in("lead")
    nothing = "11111111-0000-4000-8000-000000000001"
    for path in (
        f"/gear/meters/{nothing}", f"/gear/machines/{nothing}", f"/gear/grinders/{nothing}",
        f"/gear/meters/{nothing}/plate", f"/gear/machine/{nothing}/name", f"/methods/{nothing}",
        f"/methods/{nothing}/edit", f"/products/{nothing}", f"/products/{nothing}/targets",
        f"/products/{nothing}/name",
    ):  # fmt: skip
        client.page(path, status=404)


def test_it_says_when_there_is_no_such_version(sign_in, bench):
    sign_in("trainee").page(f"/methods/{bench.methods['whole']}/versions/9", status=404)
