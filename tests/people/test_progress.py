"""One's own samples: how many, whether the readings agree, how alike the fills are, and sign-offs."""

import re

from tests.support import comparing
from tests.support.roastery import later
from webapp.store.people import get_person


def text_of(client):
    return re.sub(r"\s+", " ", client.page("/me/progress").find("main")[0].text)


def test_it_says_what_it_will_show_before_the_first_sample(sign_in):
    assert "Your first sample starts this page" in text_of(sign_in("trainee"))


def test_it_counts_own_samples_of_each_kind_and_nobody_elses(bench, sign_in):
    for n in range(3):
        batch = bench.batch(at=later(bench.now, minutes=-n))
        bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], role="trainee")
        bench.sample(batch.id, "ground", [61.0, 61.1, 61.0], role="trainee" if n else "roaster")
    text = text_of(sign_in("trainee"))
    assert "3 samples in twelve months" in text
    assert "2 samples in twelve months" in text
    assert "In 3 of 3 samples so far." in text
    assert "That shows when you prepare two fills" in text


def read(bench, fills, count=20, role="trainee"):
    for n in range(count):
        batch = bench.batch(at=later(bench.now, minutes=-n))
        bench.sample(batch.id, "whole", *fills, role=role)


def test_it_praises_fills_that_are_alike(bench, sign_in):
    read(bench, [[56.0, 56.1, 56.0], [56.2, 56.2, 56.1]])
    text = text_of(sign_in("trainee"))
    assert "Yes: in 20 of 20 samples. The rest is chance." in text
    # Means 56.033 and 56.167, 0.133 apart: standard deviation 0.133 / sqrt(2), by hand.
    assert "Yes: they vary by 0.09, as little as the shop’s." in text


def test_it_says_kindly_that_fills_differ(bench, sign_in):
    """The shop's hands are everybody else's: what a trainee scatters by themselves does not widen their own limit."""
    read(bench, [[56.0, 56.2, 56.1], [56.3, 56.4, 56.2]], role="roaster")
    read(bench, [[56.0, 56.1, 56.0], [58.0, 58.1, 58.0]], count=40)
    assert "more than the shop’s hands. Fill, level and tap the dish the same way" in text_of(sign_in("trainee"))


def test_it_says_that_readings_could_agree_better(bench, sign_in):
    read(bench, [[56.0, 56.2, 56.1]], count=60, role="roaster")
    read(bench, [[56.0, 56.1, 59.0, 53.0]])
    assert "In 0 of 20 samples they did. That can be better" in text_of(sign_in("trainee"))


def test_it_shows_sign_offs_and_what_is_under_way(bench, sign_in):
    comparing.sign_off(bench, comparing.plan_people(bench, 6), until="2126-05-05T21:59:59.000Z")
    there = comparing.plan_people(bench, 6, "ground", name="Tomas, ground")
    bench.now = later(bench.now, seconds=1)
    page = sign_in("trainee").page("/me/progress")
    text = re.sub(r"\s+", " ", page.find("main")[0].text)
    assert "Whole bean ✓ signed off since" in text
    assert "until 5 May 2126" in text
    assert "Under way, against Ravi: to your cups" in text
    assert page.find("a", href=f"/comparisons/{there.id}")
    assert "Sign-offs" not in text_of(sign_in("roaster"))


def test_the_short_checklist_comes_with_the_sign_off(bench, sign_in):
    comparing.sign_off(bench, comparing.plan_people(bench, 6))
    trainee = sign_in("trainee")
    names = [e.attrs["name"] for e in trainee.page("/me").find("input", type="checkbox")]
    assert names == ["auto_point", "short_checklist"]
    assert "Ground coffee is walked step by step." in trainee.get("/me").text
    trainee.post("/me", data={"short_checklist": "y"})
    assert get_person(bench.db, bench.people["trainee"]).short_checklist
