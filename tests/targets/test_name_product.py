"""A product's names, and taking it out of use and back."""

from __future__ import annotations

import pytest

from webapp.store import products
from webapp.store.who import SYSTEM


@pytest.fixture
def address(bench):
    """The page that changes names and use."""
    return f"/products/{bench.product}/name"


def test_it_changes_both_names(sign_in, bench, db, address):
    data = {"name": "Lantern House Blend", "short": "LHB", "active": "y"}
    assert sign_in("lead").post(address, data=data).status_code == 303
    assert products.get_product(db, bench.product) == products.Product(
        bench.product, "Lantern House Blend", "LHB", True
    )
    assert len(products.list_target_versions(db, bench.product)) == 1


def test_it_takes_a_product_out_of_use_and_back(sign_in, bench, db, address):
    client = sign_in("lead")
    client.post(address, data={"name": "Lantern House", "short": "LH"})
    assert products.list_products(db) == []
    assert "not in use" in client.get("/products").get_data(as_text=True)
    client.post(address, data={"name": "Lantern House", "short": "LH", "active": "y"})
    assert [product.id for product in products.list_products(db)] == [bench.product]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"name": "paper boat"}, "Another product has this already."),
        ({"short": "pb"}, "Another product has this already."),
        ({"name": "\x07"}, "cannot be shown"),
        ({"short": "     "}, "Give it one to four letters."),
    ],
)
def test_it_refuses_what_does_not_fit(sign_in, bench, db, address, typed, words):
    products.add_product(
        db, "Paper Boat", "PB", bench.scale, "simple", 0.8, None, None, [], SYSTEM, bench.now
    )
    data = {"name": "Lantern House", "short": "LH", "active": "y"} | typed
    assert words in sign_in("lead").post(address, data=data).get_data(as_text=True)
    assert products.get_product(db, bench.product).name == "Lantern House"


def test_it_shows_names_as_text(sign_in, bench, db, address):
    client = sign_in("lead")
    client.post(address, data={"name": "<b>Bold</b> & \"quoted\"", "short": "<i>", "active": "y"})
    page = client.get("/products").get_data(as_text=True)
    assert "&lt;b&gt;Bold&lt;/b&gt;" in page
    assert "<b>Bold" not in page
