"""Limits are proposed from steady batches, frozen by a lead, judge what comes after, and are given up."""

import uuid
from urllib.parse import urlencode

import pytest

from webapp.measure.charts import limits_of
from webapp.store import baselines, methods
from webapp.store.trends import ALL, Wanted
from webapp.trends import baseline_find, run


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


@pytest.fixture
def where(bench):
    return f"/trends/{bench.product}/whole"


def text_of(page):
    return page.find("main")[0].text


def look(bench, wanted=ALL, most=100):
    return run.look_at(bench.db, bench.product, "whole", wanted, most)


def test_it_proposes_the_newest_steady_stretch(bench, roast, steady):
    roast([*steady(6, seed=5), 59.5, 59.4, *steady(22)])
    it = look(bench)
    assert baseline_find.proposed(it) == (8, 29)
    assert baseline_find.can_freeze(it) == 20


def test_it_proposes_nothing_before_there_are_twenty(lead, bench, where, roast, steady):
    roast(steady(19))
    assert baseline_find.proposed(look(bench)) is None
    text = text_of(lead.page(f"{where}/baseline"))
    assert "no 20 steady batches in a row yet" in text
    assert "can be frozen" not in text_of(lead.page(where))


def test_it_leaves_out_what_no_check_stands_behind(lead, bench, where, roast, steady):
    roast(steady(30))
    it = look(bench)
    assert len(baseline_find.counting(it)) == 30
    bench.ask_for_checks(at=bench.now)
    roast(steady(3), ago=-5)
    it = look(bench)
    assert [no for no in range(33) if no not in baseline_find.counting(it)] == [30, 31, 32]
    assert baseline_find.proposed(it) == (0, 29)
    points = it.trend.points
    text = text_of(lead.page(f"{where}/baseline?first={points[5].batch_id}&last={points[32].batch_id}"))
    assert "25 batches" in text


def test_it_says_to_a_lead_alone_that_limits_can_be_frozen(lead, sign_in, where, roast, steady):
    roast(steady(25))
    said = "25 steady batches: these limits can be frozen."
    assert said in text_of(lead.page(where))
    assert said not in text_of(sign_in("roaster").page(where))
    assert sign_in("roaster").get(f"{where}/baseline").status_code == 403


def test_it_freezes_what_was_looked_at_once(lead, bench, where, roast, steady, fields):
    values = steady(25)
    batches = roast(values)
    page = lead.page(f"{where}/baseline")
    form = fields(page, reason="Steady since the new burrs.")
    assert (form["first"], form["last"]) == (batches[0].id, batches[-1].id)
    for _twice in range(2):
        assert lead.post(f"{where}/baseline", data=form).status_code == 303
    [stored] = baselines.list_baselines(bench.db, bench.product, "whole")
    limits = limits_of(values, 0.1)
    assert (stored.limits.batches, stored.person_name) == (25, "Ada")
    assert stored.limits.centre == pytest.approx(limits.centre)
    assert stored.limits.sigma == pytest.approx(limits.sigma)
    # The same form with something else in it is not the same record.
    assert lead.post(f"{where}/baseline", data=form | {"reason": "Something else."}).status_code == 409
    text = text_of(lead.page(where))
    assert "Limits frozen by Ada on" in text
    assert "from 25 batches" in text
    assert "“Steady since the new burrs.”" in text


def test_it_asks_for_a_reason_and_keeps_the_choice(lead, bench, where, roast, steady, fields):
    batches = roast(steady(30))
    page = lead.page(f"{where}/baseline?first={batches[2].id}&last={batches[27].id}")
    assert "26 batches" in text_of(page)
    answer = lead.post(f"{where}/baseline", data=fields(page, reason=" "))
    assert answer.status_code == 422
    assert "Say in a few words why." in answer.get_data(as_text=True)
    assert "26 batches" in answer.get_data(as_text=True)
    assert baselines.list_baselines(bench.db, bench.product, "whole") == []


def test_it_freezes_nothing_that_changed_since_it_was_looked_at(lead, bench, where, roast, steady, fields):
    batches = roast(steady(25))
    form = fields(lead.page(f"{where}/baseline"), reason="Steady.")
    bench.sample(batches[3].id, "whole", [56.9] * 3)
    answer = lead.post(f"{where}/baseline", data=form)
    assert answer.status_code == 422
    assert "changed meanwhile" in answer.get_data(as_text=True)
    assert "Steady." in answer.get_data(as_text=True)


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [(20, 3, "before the first one"), (0, 10, "at least 20 batches"), (None, 10, "from the list")],
)
def test_it_says_what_is_wrong_with_a_choice(lead, where, roast, steady, first, last, said):
    batches = roast(steady(25))
    chosen = urlencode({"first": batches[first].id if first is not None else uuid.uuid4(), "last": batches[last].id})
    assert said in text_of(lead.page(f"{where}/baseline?{chosen}", status=400))


def test_it_shows_what_would_have_fired_since(lead, bench, where, roast, steady):
    batches = roast([*steady(24), 54.2, 54.0])
    text = text_of(lead.page(f"{where}/baseline?first={batches[0].id}&last={batches[23].id}"))
    assert "would have fired" in text
    assert "One batch on the dark side by more than three sigma." in text
    assert "R-0-024" in text
    # Chosen with them in it, it says that it is not steady.
    text = text_of(lead.page(f"{where}/baseline?first={batches[0].id}&last={batches[25].id}"))
    assert "This stretch is not steady." in text


def test_it_sees_by_frozen_limits_a_shift_that_own_limits_take_in(bench, roast, steady, freeze):
    values = steady(22)
    batches = roast([*steady(4, seed=5), *values, *[value + 0.9 for value in steady(30)]])
    assert [one.since for one in look(bench, most=30).signals] == []
    limits = limits_of(values, 0.1)
    freeze(batches[4:26], limits.centre, limits.sigma)
    it = look(bench)
    assert (it.start, it.baseline.limits.batches, it.advice.word, it.advice.side) == (4, 22, "changed", "above")
    assert it.standing.point in range(26, 32)
    assert it.average_at(3) is None
    assert it.average_at(4).value == pytest.approx(0.2 * it.values[4] + 0.8 * it.limits.centre)
    # The same from the shift on: five batches would be too few for limits of their own.
    assert (look(bench, most=5).missing, look(bench, most=5).advice.word) == (0, "changed")


def test_it_turns_frozen_limits_round_where_small_numbers_are_light(bench, roast, steady, freeze, db):
    from webapp.store import products
    from webapp.store.products import TargetBand

    bench.product = products.add_product(
        db, "Paper Boat", "PB", bench.flipped, "guarded", 0.8, None, None, [TargetBand("whole", 4300, 4400, 4500)],
        bench.who("lead"), bench.now.replace(year=bench.now.year - 1),
    )  # fmt: skip
    values = [round(100 - value, 1) for value in steady(24)]
    batches, bench.scale = roast([*values, 47.0], meter=bench.flipped_meter), bench.flipped
    it = look(bench)
    kept = baseline_find.stretch(it, 0, 23).frozen(it.way)
    assert kept.centre == pytest.approx(limits_of(values, 0.1).centre)
    freeze(batches[:24], kept.centre, kept.sigma)
    it = look(bench)
    assert it.baseline is not None
    assert it.limits.centre == pytest.approx(-kept.centre)
    assert [(one.rule, one.lighter) for one in it.signals if one.rule == 1] == [(1, False)]


def test_it_judges_a_part_of_the_batches_by_their_own_limits(bench, where, sign_in, roast, steady, freeze):
    batches = roast(steady(30))
    freeze(batches[:25])
    narrowed = look(bench, Wanted(machine_id=bench.machine))
    assert (narrowed.baseline, narrowed.passed is None) == (None, False)
    text = text_of(sign_in("trainee").page(f"{where}?machine={bench.machine}"))
    assert "Limits from the batches shown." in text
    assert "they do not judge a part of them" in text
    # A span of time leaves nothing out in between, and what is older than the limits has limits of its own.
    since = batches[10].roasted_at
    assert look(bench, Wanted(since=since)).baseline is not None
    assert look(bench, Wanted(until=batches[0].roasted_at)).baseline is None


def test_it_says_that_limits_do_not_carry_over_to_another_method_version(bench, where, sign_in, roast, steady, freeze):
    freeze(roast(steady(25)))
    old = bench.versions["whole"]
    version = methods.add_version(
        bench.db, old.method_id, old.dish, old.planned_readings, old.planned_fills, None, old.steps, "Anew",
        bench.who("lead"), bench.now,
    )  # fmt: skip
    bench.versions = bench.versions | {"whole": methods.get_version(bench.db, version)}
    # From the first batch on, long before there are limits again.
    roast(steady(2), ago=-3)
    text = text_of(sign_in("trainee").page(where))
    assert "they do not carry over" in text
    assert "Limits from the batches shown." not in text
    roast(steady(19), ago=-22)
    it = look(bench)
    assert (it.baseline, it.elsewhere.limits.batches) == (None, 25)
    assert "they do not carry over" in text_of(sign_in("trainee").page(where))
    assert "another version of the method" in text_of(sign_in("lead").page(f"{where}/baseline"))


def test_it_gives_limits_up_with_a_reason(lead, bench, where, roast, steady, freeze, fields):
    freeze(roast(steady(25)))
    path = f"{where}/baseline/give-up"
    page = lead.page(path)
    assert "Limits frozen by Ada" in text_of(page)
    assert lead.post(path, data=fields(page, reason="")).status_code == 422
    form = fields(page, reason="Roasted anew.")
    for _twice in range(2):
        assert lead.post(path, data=form).status_code == 303
    assert look(bench).baseline is None
    said = baselines.list_baselines(bench.db, bench.product, "whole")
    assert [one.reason for one in said] == ["Roasted anew.", "Steady since March."]
    assert [one.limits is None for one in said] == [True, False]
    text = text_of(lead.page(f"{where}/baseline"))
    assert "Given up" in text
    assert "Roasted anew." in text
    # With nothing to give up there is no form.
    assert lead.get(path).status_code == 303


def test_it_gives_up_only_what_was_seen(lead, bench, where, roast, steady, freeze, fields):
    batches = roast(steady(25))
    freeze(batches)
    form = fields(lead.page(f"{where}/baseline/give-up"), reason="Roasted anew.")
    freeze(batches[2:], sigma=0.3)
    answer = lead.post(f"{where}/baseline/give-up", data=form)
    assert answer.status_code == 422
    assert "changed the limits meanwhile" in answer.get_data(as_text=True)
