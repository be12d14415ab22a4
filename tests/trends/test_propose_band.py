"""A band from history: from which batches, how wide, what it would have meant, and how a lead takes it over."""

import math
import random
from datetime import timedelta
from urllib.parse import parse_qs, urlsplit

import pytest
from scipy import stats
from werkzeug.datastructures import MultiDict

from tests.targets.test_edit_targets import fields_of
from webapp.store import baselines, products
from webapp.store.baselines import Frozen, NewBaseline, Place
from webapp.store.products import TargetBand
from webapp.trends.band import Choice, gather, read


@pytest.fixture
def where(bench):
    return f"/trends/{bench.product}/whole/band"


@pytest.fixture
def normal():
    """normal(n) gives values around 56 as a normal process would (a fixed seed)."""

    def made(many, seed=5, sd=0.5):
        print(f"seed {seed}")
        draw = random.Random(seed)
        return [round(draw.gauss(56, sd), 1) for _ in range(many)]

    return made


def text_of(page):
    return page.find("main")[0].text


def cells(page):
    """Line of the table side by side -> (band now, from history)."""
    rows, line = {}, None
    for element in page.elements:
        if element.tag == "th" and element.attrs.get("scope") == "row":
            line = rows.setdefault(element.text.strip(), [])
        elif element.tag == "td" and line is not None:
            line.append(element.text.strip())
    return rows


def proposed(values, step=0.1):
    """Mean -/+ Howe's factor, by scipy alone, outward to a step (NIST/SEMATECH e-Handbook, 7.2.6.3)."""
    n = len(values)
    mean, sd = sum(values) / n, stats.tstd(values)
    k = stats.norm.ppf(0.975) * math.sqrt((n - 1) * (1 + 1 / n) / stats.chi2.ppf(0.05, n - 1))
    low, high = mean - k * sd, mean + k * sd
    return math.floor(low / step) * step, math.ceil(high / step) * step


def test_it_proposes_what_the_formula_gives_rounded_outward(sign_in, roast, normal, where):
    values = normal(40)
    roast(values)
    page = sign_in("roaster").page(where)
    low, high = proposed(values)
    rows = cells(page)
    assert rows["Limits"] == ["54.5 to 57.5", f"{low:.1f} to {high:.1f}"]
    assert rows["Width"][1].startswith(f"{high - low:.1f} ")
    assert "From 40 batches." in text_of(page)


def test_it_refuses_too_few_and_says_how_many_are_missing(sign_in, roast, normal, where):
    roast(normal(9))
    page = sign_in("roaster").page(where)
    assert "Too few batches for a band." in text_of(page)
    assert "1 more is needed." in text_of(page)
    assert "Limits" not in cells(page)


def test_it_says_that_few_batches_make_a_wide_band(sign_in, roast, normal, where):
    roast(normal(12))
    text = text_of(sign_in("roaster").page(where))
    # k of twelve batches at 95/95 by Howe's formula: 3.2; of a hundred 2.2.
    assert "3.2 standard deviations on" in text
    assert "With a hundred batches it would be 2.2." in text


def test_it_judges_the_newest_batches_as_the_record_does(sign_in, bench, db, roast, normal, where):
    roast(normal(30, sd=0.9))
    stored = [row["verdict"] for row in db.query("SELECT verdict FROM part_result WHERE kind = 'whole'")]
    assert {"inside", "undecided"} <= set(stored)
    rows = cells(sign_in("roaster").page(where))
    assert rows["In band"][0] == str(stored.count("inside"))
    assert rows["Too close to call"][0] == str(stored.count("undecided"))
    out = int(rows["Out, darker"][0]) + int(rows["Out, lighter"][0])
    assert out == stored.count("outside")
    # The wider band leaves fewer of them open or out.
    assert int(rows["In band"][1]) > int(rows["In band"][0])


def test_it_leaves_out_what_is_ticked(sign_in, bench, roast, normal, where):
    odd = roast([60.0], ago=50)
    roast(normal(30))
    client = sign_in("roaster")
    assert "From 31 batches." in text_of(client.page(where))
    page = client.page(f"{where}?without={odd[0].id[:8]}")
    assert "From 30 batches." in text_of(page)
    assert "1 was left out by hand." in text_of(page)
    [box] = [e for e in page.find("input", type="checkbox") if e.attrs["value"] == odd[0].id[:8]]
    assert "checked" in box.attrs


def test_it_leaves_out_an_unproven_meter_unless_it_is_taken_in(sign_in, bench, roast, normal, where):
    bench.ask_for_checks(every=8, at=bench.now - timedelta(hours=20))
    found = roast(normal(30))
    client = sign_in("roaster")
    page = client.page(where)
    boxes = [e.attrs["name"] for e in page.find("input", type="checkbox")]
    out = boxes.count("within")
    assert out > 0
    assert f"{out} are left out: their meter was not proven." in text_of(page)
    page = client.page(f"{where}?" + "&".join(f"within={one.id[:8]}" for one in found))
    assert "From 30 batches." in text_of(page)


def test_it_doubts_what_does_not_look_normal(sign_in, bench, roast, where):
    # Two kinds of coffee under one name.
    roast([55.0 + 0.1 * (no % 3) if no % 2 else 57.5 + 0.1 * (no % 4) for no in range(40)])
    text = text_of(sign_in("roaster").page(where))
    assert "These batches do not look normal" in text
    assert "< 0.1" in text


def test_it_says_that_something_changed_among_them(sign_in, bench, roast, steady, where):
    roast([*steady(20), *[value + 1.5 for value in steady(10)]])
    assert "Something changed among these batches" in text_of(sign_in("roaster").page(where))


def test_it_takes_other_shares_and_none_that_there_is_not():
    chosen = read(MultiDict({"coverage": "99", "confidence": "90"}), "UTC")
    assert (chosen.coverage, chosen.confidence) == (99, 90)
    chosen = read(MultiDict({"coverage": "101", "confidence": "many"}), "UTC")
    assert (chosen.coverage, chosen.confidence) == (95, 95)


def test_it_takes_the_batches_of_frozen_limits(sign_in, bench, db, roast, steady, normal, where):
    stretch = roast(steady(22), ago=100)
    roast([value + 1 for value in normal(30)])
    version = bench.versions["whole"]
    limits = Frozen(stretch[0].id, stretch[-1].id, 22, 56.0, 0.3)
    new = NewBaseline("b-1", Place(bench.product, "whole", bench.scale, version.id), limits, "steady")
    baselines.add_baseline(db, new, bench.who("lead"), bench.now)
    client = sign_in("roaster")
    assert "From 52 batches." in text_of(client.page(where))
    assert "From 22 batches." in text_of(client.page(f"{where}?stretch=baseline"))


def test_it_has_nothing_to_hold_it_against_on_another_scale(sign_in, bench, db, roast, normal, where):
    roast(normal(25))
    products.add_target_version(
        db, bench.product, bench.flipped, "guarded", 0.8, None, None, [TargetBand("whole", 4000, 4200, 4400)], "moved",
        bench.who("lead"), bench.now,
    )  # fmt: skip
    page = sign_in("lead").page(where)
    assert "The targets are on another scale than these batches" in text_of(page)
    assert "Fill it into the targets" not in text_of(page)
    assert cells(page)["Limits"][0] == "–"


def test_a_lead_takes_it_over_by_the_form_of_the_targets(sign_in, bench, db, roast, normal, where):
    roast(normal(40))
    client = sign_in("lead")
    [link] = [a for a in client.page(where).find("a") if "Fill it into the targets" in a.text]
    address = link.attrs["href"]
    asked = parse_qs(urlsplit(address).query)
    data = fields_of(client.page(address))
    # To look changes nothing, and what is not proposed stays as it is stored.
    assert products.target_in_force(db, bench.product).no == 1
    assert data["ground-lower"] == "59.5"
    assert data["reason"] == asked["reason"][0]
    assert "Band from 40 batches, R-0-000 to R-0-039" in data["reason"]
    assert client.post(f"/products/{bench.product}/targets", data=data).status_code == 303
    stored = products.target_in_force(db, bench.product)
    found = gather(db, products.get_product(db, bench.product), "whole", read_nothing()).proposal
    assert stored.no == 2
    assert stored.bands["whole"] == TargetBand(
        "whole", int(found.lower * 100), int(found.centre * 100), int(found.upper * 100)
    )
    assert stored.bands["ground"] == TargetBand("ground", 5950, 6100, 6250)


def read_nothing() -> Choice:
    """The choice of a page that was asked for nothing."""
    return read(MultiDict(), "UTC")


@pytest.mark.parametrize(
    "query", ["kind=other&lower=1&centre=2&upper=3", "kind=whole&lower=x&centre=2&upper=3", "kind=whole&lower=1",
              "kind=whole&lower=1&centre=2&upper=99999999999999999999"],
)  # fmt: skip
def test_the_form_of_the_targets_takes_no_nonsense_out_of_an_address(sign_in, bench, query):
    data = fields_of(sign_in("lead").page(f"/products/{bench.product}/targets?{query}"))
    assert (data["whole-lower"], data["whole-centre"], data["whole-upper"]) == ("54.5", "56.0", "57.5")


def test_a_roaster_looks_and_a_trainee_does_not(sign_in, roast, normal, where):
    roast(normal(25))
    assert "A lead can take it over." in text_of(sign_in("roaster").page(where))
    sign_in("trainee").page(where, status=403)


def test_it_says_what_is_wrong_with_a_day(sign_in, roast, normal, where):
    roast(normal(25))
    page = sign_in("roaster").page(f"{where}?since=never", status=400)
    assert "Please look at this again" in text_of(page)
    assert "never" in [e.attrs.get("value") for e in page.find("input")]


def test_it_says_so_when_nothing_was_read(sign_in, bench, where):
    assert "No batch is like that." in text_of(sign_in("roaster").page(where))
