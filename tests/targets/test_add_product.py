"""Adding a product: bands for each kind, each optional and open on one side if wanted; the rule; bad numbers."""

from __future__ import annotations

import pytest

from webapp.store import gear, products
from webapp.store.products import TargetBand


@pytest.fixture
def form(bench):
    """A product whose every band is filled in, as a browser sends it."""
    bands = {"whole": ("44,5", "46", "47.5"), "ground": ("37", "38.5", "40"), "difference": ("-9", "-7.5", "-6")}
    fields = {
        f"{kind}-{name}": typed
        for kind, numbers in bands.items()
        for name, typed in zip(("lower", "centre", "upper"), numbers, strict=True)
    }
    return fields | {
        "name": "Paper Boat", "short": "PB", "scale": bench.flipped, "rule": "guarded", "confidence": "95",
        "whole_method": bench.methods["whole"], "ground_method": bench.methods["ground"],
    }  # fmt: skip


def stored(db, name="Paper Boat"):
    """The targets of the product of this name, or None."""
    found = [product for product in products.list_products(db) if product.name == name]
    return products.target_in_force(db, found[0].id) if found else None


def test_it_keeps_every_band_the_rule_and_the_methods(sign_in, bench, db, form):
    response = sign_in("lead").post("/products/new", data=form)
    assert response.status_code == 303
    target = stored(db)
    assert response.location.endswith(f"/products/{target.product_id}")
    assert list(target.bands.values()) == [
        TargetBand("whole", 4450, 4600, 4750),
        TargetBand("ground", 3700, 3850, 4000),
        TargetBand("difference", -900, -750, -600),
    ]
    assert (target.no, target.scale.id, target.rule, target.confidence) == (1, bench.flipped, "guarded", 0.95)
    assert (target.whole_method_id, target.ground_method_id) == (bench.methods["whole"], bench.methods["ground"])
    assert (target.person_name, target.reason) == ("Ada", "")
    assert products.get_product(db, target.product_id).short == "PB"


def test_it_keeps_a_band_with_one_limit(sign_in, db, form):
    sign_in("lead").post("/products/new", data=form | {"whole-lower": "", "ground-upper": " "})
    target = stored(db)
    assert target.bands["whole"] == TargetBand("whole", None, 4600, 4750)
    assert target.bands["ground"] == TargetBand("ground", 3700, 3850, None)


@pytest.mark.parametrize("kind", ["whole", "ground", "difference"])
def test_it_leaves_out_a_band_that_is_empty(sign_in, db, form, kind):
    empty = {f"{kind}-{name}": "" for name in ("lower", "centre", "upper")}
    sign_in("lead").post("/products/new", data=form | empty)
    assert set(stored(db).bands) == {"whole", "ground", "difference"} - {kind}


def test_it_keeps_the_simple_rule_whatever_stands_in_the_confidence(sign_in, db, form):
    sign_in("lead").post("/products/new", data=form | {"rule": "simple", "confidence": "very"})
    assert (stored(db).rule, stored(db).confidence) == ("simple", 0.8)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"name": " "}, "Give it a name."),
        ({"name": "LANTERN house"}, "Another product has this already."),
        ({"short": "lh"}, "Another product has this already."),
        ({"short": "PAPER"}, "at most 4 characters"),
        ({"short": ""}, "Give it one to four letters."),
        ({"scale": ""}, "Choose the scale that this product is read on."),
        ({"scale": "none"}, "Choose again."),
        ({"rule": "strict"}, "Choose again."),
        ({"confidence": ""}, "Type a percentage"),
        ({"confidence": "50"}, "Type a number from 51 to 99."),
        ({"confidence": "100"}, "Type a number from 51 to 99."),
        ({"confidence": "٨٠"}, "digits 0 to 9"),
        ({"whole-lower": "44,5,1"}, "Whole bean, From: There is more than one mark"),
        ({"whole-lower": "1e1"}, "Whole bean, From: This is not a number."),
        ({"whole-lower": "44.55"}, "Whole bean, From: This scale goes in steps of 0.1."),
        ({"whole-upper": "100.1"}, "Whole bean, To: Type a number from 0.0 to 100.0."),
        ({"whole-upper": "475"}, "Did you mean 47.5?"),
        ({"whole-upper": "44.5"}, "This must be a larger number than the one under From."),
        ({"whole-centre": "44.5"}, "The target must lie inside the limits, not on one."),
        ({"whole-centre": "48"}, "The target must lie inside the limits, not on one."),
        ({"whole-centre": ""}, "Type the target, or leave all three empty."),
        ({"whole-lower": "", "whole-upper": ""}, "Type at least one limit, From or To"),
        ({"whole-lower": "", "whole-centre": "47.5"}, "The target must lie inside the limits, not on one."),
        ({"difference-lower": "-100.1"}, "from −100.0 to 100.0"),
        ({"whole_method": ""}, "Choose how this sample is prepared"),
        ({"ground_method": "none"}, "Choose again."),
    ],
)
def test_it_refuses_what_does_not_fit_and_keeps_what_was_typed(sign_in, db, form, typed, words):
    data = form | typed
    response = sign_in("lead").post("/products/new", data=data)
    page = response.get_data(as_text=True)
    assert response.status_code == 200
    assert words in page
    assert "<title>Error: " in page
    for name, value in data.items():
        if name in ("name", "short", "confidence") or "-" in name:
            shown = value.strip() if name in ("name", "short") else value
            assert f'name="{name}"' in page
            assert f'value="{shown}"' in page
    assert stored(db) is None
    assert len(products.list_products(db)) == 1


def test_it_shows_the_bands_without_storing_anything(sign_in, db, form):
    page = sign_in("lead").post(
        "/products/new", data=form | {"preview": "1", "name": "", "difference-upper": "-9"}
    ).get_data(as_text=True)
    assert "Not stored yet." in page
    assert page.count('class="gauge ') == 2
    # Only what the picture is about is complained of.
    assert "Give it a name." not in page
    assert "This must be a larger number" in page
    assert stored(db, "") is None
    assert len(products.list_products(db)) == 1


def test_it_makes_one_product_of_a_form_sent_twice(sign_in, db, form):
    client = sign_in("lead")
    form["id"] = client.page("/products/new").find("input", name="id")[0].attrs["value"]
    assert [client.post("/products/new", data=form).status_code for _ in range(2)] == [303, 303]
    assert len(products.list_products(db)) == 2
    assert len(products.list_target_versions(db, form["id"])) == 1


def test_it_chooses_what_there_is_only_one_of(sign_in, bench):
    page = sign_in("lead").page("/products/new")
    chosen = [e.attrs["value"] for e in page.find("option") if "selected" in e.attrs]
    assert chosen == [bench.methods["whole"], bench.methods["ground"]]
    # There are two scales: which one is not ours to say.
    assert [e for e in page.find("input", name="scale") if "checked" in e.attrs] == []


def test_it_does_not_offer_a_retired_method(sign_in, bench, db):
    gear.retire(db, "method", bench.methods["whole"], bench.who("lead"), bench.now)
    offered = [e.attrs["value"] for e in sign_in("lead").page("/products/new").find("option")]
    assert bench.methods["whole"] not in offered
    assert bench.methods["ground"] in offered
