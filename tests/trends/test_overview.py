"""All products on one page: what needs attention first, in shapes and words, with the way to each trend."""

from datetime import timedelta

import pytest

from tests.support.pages import Page
from webapp.store import products, records
from webapp.store.products import TargetBand
from webapp.trends import overview


@pytest.fixture
def product(bench):
    """product(name) adds another one with a band around 56."""

    def made(name):
        return products.add_product(
            bench.db, name, name[:2].upper(), bench.scale, "guarded", 0.8, None, None,
            [TargetBand("whole", 5450, 5600, 5750)], bench.who("lead"), bench.now - timedelta(days=40),
        )  # fmt: skip

    return made


@pytest.fixture
def run_of(bench, roast):
    """run_of(product, values) measures its batches."""

    def made(product, values, **how):
        usual, bench.product = bench.product, product
        found = roast(values, **how)
        bench.product = usual
        return found

    return made


@pytest.fixture
def four(product, run_of, steady):
    """By name: one that is steady, one that walks, one whose newest batch waits, one that is new."""
    made = {name: product(name) for name in ("Steady", "Walking", "Waits", "Young", "Unread")}
    # 54.3 waits for a decision, and twelve later ones are steady again.
    run_of(made["Steady"], steady(30))
    run_of(made["Walking"], [*steady(24), 54.0])
    run_of(made["Young"], steady(5))
    run_of(made["Waits"], [*steady(12), 54.55, *steady(14, seed=4)])
    return made


def lines(client):
    """Text of each product's line, in order."""
    page = Page(client.get("/trends").text)
    return [" ".join(e.text.split()) for e in page.elements if "product-line" in e.attrs.get("class", "").split()]


def test_it_has_what_needs_attention_first(four, sign_in):
    found = lines(sign_in("trainee"))
    assert [next(name for name in four if name in line) for line in found] == ["Walking", "Waits", "Steady", "Young"]
    assert "Went darker." in found[0]
    assert "wait" in found[1]
    assert "15 more batches are needed." in found[3]


def test_it_leads_to_every_trend_and_says_the_share_in_band(four, sign_in, bench):
    page = Page(sign_in("lead").get("/trends").text)
    links = {e.attrs["href"]: e for e in page.elements if e.attrs.get("href", "").startswith("/trends/")}
    there = links[f"/trends/{four['Walking']}/whole"]
    assert "96 %" in there.text.replace("\N{NO-BREAK SPACE}", " ")
    assert "in band" in there.attrs["aria-label"]
    assert f"/trends/{four['Unread']}/whole" not in links
    main = next(e for e in page.elements if e.tag == "main")
    assert "Nothing read yet: Lantern House, Unread." in " ".join(main.text.split())


def test_it_folds_what_is_not_in_use_any_more(four, sign_in, bench):
    records.retire(bench.db, "product", four["Walking"], bench.who("lead"), bench.now)
    text = sign_in("lead").get("/trends").text
    assert text.index("Not in use any more") < text.index("Walking")


def test_it_says_what_will_be_here_while_nothing_is(sign_in):
    assert "No batch was read yet" in sign_in("lead").get("/trends").text


SHARES = [(100, 100, "100"), (999, 1000, "99"), (93, 100, "93"), (0, 3, "0")]


@pytest.mark.parametrize(("inside", "judged", "said"), SHARES)
def test_it_says_a_hundred_percent_of_all_alone(inside, judged, said):
    assert overview.share_words(inside, judged) == f"{said}\N{NO-BREAK SPACE}%"
