"""Changing a product's targets: a new version with a reason; batches keep the version they were read under."""

from __future__ import annotations

from datetime import timedelta

import pytest

from webapp.store import gear, products, results, samples
from webapp.store.products import TargetBand


@pytest.fixture
def address(bench):
    """The page that changes the targets."""
    return f"/products/{bench.product}/targets"


def fields_of(page):
    """What a browser would send of the form."""
    data = {}
    for element in page.find("input"):
        kind, name = element.attrs.get("type"), element.attrs.get("name")
        if kind in ("text", "hidden") or (kind == "radio" and "checked" in element.attrs):
            data[name] = element.attrs.get("value", "")
    name = None
    for element in page.elements:
        if element.tag == "select":
            name = element.attrs["name"]
        elif element.tag == "option" and "selected" in element.attrs:
            data[name] = element.attrs["value"]
    return data


def test_it_stores_the_same_again_when_nothing_was_touched(sign_in, bench, db, address):
    client = sign_in("lead")
    before = products.target_in_force(db, bench.product)
    assert client.post(address, data=fields_of(client.page(address)) | {"reason": "Only to see"}).status_code == 303
    after = products.target_in_force(db, bench.product)
    assert (after.no, after.reason, after.person_name) == (2, "Only to see", "Ada")
    for name in ("scale", "rule", "confidence", "whole_method_id", "ground_method_id", "bands"):
        assert getattr(after, name) == getattr(before, name)


def test_it_judges_a_batch_by_the_version_in_force_when_it_was_read(sign_in, bench, db, address):
    client, hour = sign_in("lead"), timedelta(hours=1)
    before = bench.batch(at=bench.now - hour)
    bench.sample(before.id, "whole", [57.0, 57.1, 57.0], at=bench.now - hour)
    narrow = fields_of(client.page(address)) | {
        "whole-upper": "56,5", "rule": "simple", "reason": "The customer wants less spread",
    }  # fmt: skip
    assert client.post(address, data=narrow).status_code == 303
    after = bench.batch(at=bench.now + hour)
    bench.sample(after.id, "whole", [57.0, 57.1, 57.0], at=bench.now + hour)

    verdicts = [results.get_parts(db, batch.id)["whole"].verdict for batch in (before, after)]
    assert verdicts[1] == "outside"
    assert verdicts[0] != "outside"
    read_under = [samples.get_samples(db, batch.id)[0].target_version_id for batch in (before, after)]
    assert [products.get_target(db, version_id).no for version_id in read_under] == [1, 2]
    # Working the results out again changes neither.
    for batch in (before, after):
        results.recompute(db, batch.id)
    assert [results.get_parts(db, batch.id)["whole"].verdict for batch in (before, after)] == verdicts


def test_it_takes_a_band_away_and_opens_one(sign_in, bench, db, address):
    client = sign_in("lead")
    empty = {f"difference-{name}": "" for name in ("lower", "centre", "upper")}
    data = fields_of(client.page(address)) | empty | {"ground-lower": "", "reason": "Only lighter matters"}
    client.post(address, data=data)
    bands = products.target_in_force(db, bench.product).bands
    assert set(bands) == {"whole", "ground"}
    assert bands["ground"] == TargetBand("ground", None, 6100, 6250)
    page = client.get(f"/products/{bench.product}").get_data(as_text=True)
    assert "62.5 or darker, target 61.0" in page


def test_it_wants_a_reason(sign_in, bench, db, address):
    client = sign_in("lead")
    page = client.post(address, data=fields_of(client.page(address)) | {"reason": "  "}).get_data(as_text=True)
    assert "Say in a few words why." in page
    assert len(products.list_target_versions(db, bench.product)) == 1


def test_it_keeps_a_bad_number_on_the_screen(sign_in, bench, db, address):
    client = sign_in("lead")
    data = fields_of(client.page(address)) | {"whole-lower": "54,5,0", "reason": "Wider"}
    page = client.post(address, data=data).get_data(as_text=True)
    assert 'value="54,5,0"' in page
    assert 'value="Wider"' in page
    assert len(products.list_target_versions(db, bench.product)) == 1


def test_it_reads_the_numbers_on_the_scale_that_was_chosen(sign_in, bench, db, address):
    client = sign_in("lead")
    data = fields_of(client.page(address)) | {"scale": bench.flipped, "whole-upper": "120", "reason": "New meter"}
    page = client.post(address, data=data).get_data(as_text=True)
    # 12.0 is what 120 on a scale that ends at 100 may have meant.
    assert "120 is off the scale, which ends at 100.0. Did you mean 12.0?" in page


def test_it_makes_one_version_of_a_form_sent_twice(sign_in, bench, db, address):
    client = sign_in("lead")
    data = fields_of(client.page(address)) | {"reason": "Change"}
    assert [client.post(address, data=data).status_code for _ in range(2)] == [303, 303]
    assert len(products.list_target_versions(db, bench.product)) == 2


def test_it_says_when_somebody_else_changed_them_meanwhile(sign_in, bench, db, address):
    client = sign_in("lead")
    mine = fields_of(client.page(address)) | {"reason": "Mine"}
    products.add_target_version(
        db, bench.product, bench.scale, "guarded", 0.9, None, None, [], "Theirs", bench.who("lead"), bench.now
    )
    response = client.post(address, data=mine)
    assert "Ada stored version 2 meanwhile." in response.get_data(as_text=True)
    assert len(products.list_target_versions(db, bench.product)) == 2


def test_it_still_offers_the_retired_method_that_is_chosen(sign_in, bench, db, address):
    gear.retire(db, "method", bench.methods["whole"], bench.who("lead"), bench.now)
    client = sign_in("lead")
    page = client.page(address)
    assert "Whole bean, deep dish (retired)" in [e.text for e in page.find("option")]
    assert client.post(address, data=fields_of(page) | {"reason": "Change"}).status_code == 303
    shown = client.get(f"/products/{bench.product}").get_data(as_text=True)
    assert "is retired. Choose another one" in shown


def test_it_shows_every_version_with_who_when_and_why(sign_in, bench, db, address):
    client = sign_in("lead")
    stricter = {"whole-upper": "57", "confidence": "95", "reason": "Stricter"}
    client.post(address, data=fields_of(client.page(address)) | stricter)
    words = " ".join(sign_in("trainee").page(f"/products/{bench.product}").find("main")[0].text.split())
    assert "Version 2, in force" in words
    assert "Ada: Stricter" in words
    assert "Whole bean 54.5 to 57.0, target 56.0" in words
    assert "Set-up: first version" in words
    assert "Whole bean 54.5 to 57.5, target 56.0" in words
    assert "95 %" in words
    assert "since 5 Jan 2026, 09:00" in words
