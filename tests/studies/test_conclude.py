"""The outcome: what the numbers say, and targets that move only by a lead's hand, as new versions."""

import html
import re
import uuid

import pytest

from tests.support.comparing import plan, read_all, second_meter
from tests.support.roastery import BEGINNING, later
from webapp.store import compared, gear, ledger, methods, products, sessions
from webapp.store.comparisons import Coffee, NewSide
from webapp.store.products import TargetBand
from webapp.store.who import SYSTEM
from webapp.studies.outcome import moved_band

# Twelve coffees from dark to light, as meter A reads them.
DARK_TO_LIGHT = [44.0, 46.5, 48.9, 51.2, 53.0, 55.4, 56.1, 58.3, 60.2, 62.7, 65.0, 67.8]


def readings(shift=0.0, slope=1.0):
    """Both sides of a made-up comparison whose shift and slope are known: the scatter's mean is zero."""
    scatter = [0.1, -0.1, 0.0] * 4
    b = [round(56 + (a - 56) * slope + shift + off, 1) for a, off in zip(DARK_TO_LIGHT, scatter, strict=True)]
    return DARK_TO_LIGHT, b


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


def words(client, there):
    """The outcome page's text with single blanks."""
    answer = client.get(f"/comparisons/{there.id}/outcome")
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.get_data(as_text=True))))


def conclude(bench, client, there, outcome, *move, **changes):
    """Send the outcome as its page would."""
    seen = len(list(bench.db.query("SELECT id FROM comparison_sample WHERE comparison_id = ?", (there.id,))))
    bases = {f"base-{id}": products.target_in_force(bench.db, id).id for id in move}
    fields = {"id": str(uuid.uuid4()), "outcome": outcome, "reason": "twelve coffees", "move": list(move), "seen": seen}
    return client.post(f"/comparisons/{there.id}/conclude", data=fields | bases | changes)


def band(bench, kind="whole", product=None):
    found = products.target_in_force(bench.db, product or bench.product).bands[kind]
    return found.lower, found.centre, found.upper


def test_it_moves_the_targets_by_a_known_shift(bench, lead):
    there = plan(bench, bound=50)
    read_all(bench, there, *readings(shift=2.0))
    before = products.target_in_force(bench.db, bench.product)
    assert "Move the targets by +2.00, give or take 0.05" in words(lead, there)
    assert "lighter than Meter A" in words(lead, there)
    answer = conclude(bench, lead, there, "move", bench.product)
    assert (answer.status_code, answer.location) == (303, f"/comparisons/{there.id}/outcome")
    assert band(bench) == (5650, 5800, 5950)
    after = products.target_in_force(bench.db, bench.product)
    assert after.no == before.no + 1
    assert (after.rule, after.confidence, after.whole_method_id) == (
        before.rule, before.confidence, before.whole_method_id
    )  # fmt: skip
    assert {kind: b for kind, b in after.bands.items() if kind != "whole"} == {
        kind: b for kind, b in before.bands.items() if kind != "whole"
    }
    assert re.fullmatch(r"Moved by \+2\.00 after the comparison New meter: twelve coffees", after.reason)
    assert "targets, version 2" in words(lead, there)
    outcome = compared.find_outcome(bench.db, there.id)
    assert (outcome.outcome, outcome.coffees, outcome.target_version_ids) == ("move", 12, (after.id,))
    assert outcome.bias == pytest.approx(2.0, abs=1e-9)
    assert list(ledger.faults(bench.db)) == []


def test_it_judges_what_was_read_before_by_the_targets_of_then(bench, lead):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0])
    tables = ("batch_result", "part_result")
    before = [list(bench.db.query(f"SELECT * FROM {table}")) for table in tables]
    there = plan(bench, bound=50)
    read_all(bench, there, *readings(shift=2.0))
    conclude(bench, lead, there, "move", bench.product)
    assert [list(bench.db.query(f"SELECT * FROM {table}")) for table in tables] == before


def test_it_carries_the_targets_over_where_there_is_no_shift(bench, lead):
    there = plan(bench, bound=50)
    read_all(bench, there, *readings())
    assert "The targets carry over" in words(lead, there)
    assert conclude(bench, lead, there, "move", bench.product).status_code == 422
    assert conclude(bench, lead, there, "carry").status_code == 303
    outcome = compared.find_outcome(bench.db, there.id)
    assert (outcome.outcome, outcome.reason, outcome.target_version_ids) == ("carry", "twelve coffees", ())
    assert products.target_in_force(bench.db, bench.product).no == 1


def test_it_says_that_a_slope_is_not_comparable(bench, lead):
    there = plan(bench, bound=50)
    read_all(bench, there, *readings(shift=2.0, slope=1.15))
    assert "the difference changes along the scale" in words(lead, there).lower()
    assert conclude(bench, lead, there, "move", bench.product).status_code == 422
    assert conclude(bench, lead, there, "not_comparable").status_code == 303
    assert compared.find_outcome(bench.db, there.id).outcome == "not_comparable"
    assert products.target_in_force(bench.db, bench.product).no == 1


def test_it_lets_a_lead_be_more_careful_than_the_numbers(bench, lead):
    there = plan(bench, bound=50)
    read_all(bench, there, *readings())
    assert conclude(bench, lead, there, "not_comparable").status_code == 303
    assert "The lead decided so" in words(lead, there)


def test_it_has_no_outcome_with_fewer_than_ten_coffees(bench, lead):
    there = plan(bench, bound=50)
    a, b = readings()
    read_all(bench, there, a[:9], b[:9])
    assert "1 coffee is missing" in words(lead, there)
    conclude(bench, lead, there, "carry")
    assert compared.find_outcome(bench.db, there.id) is None


def test_it_shows_the_published_bias_and_limits(bench, lead):
    """Bland and Altman, Lancet 1986; i: 307-310: first readings of the large meter (b) and the mini meter (a).

    Printed there: bias -2.1 l/min, its 95 % interval -22.0 to 17.8. Its limits use 2 standard deviations; ours 1.96,
    which gives -78.1 and 73.9 from the same data.
    """
    large = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
    mini = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
    scale = gear.add_scale(bench.db, "Litres a minute", 0, 80000, 100, 1, SYSTEM, BEGINNING)
    version = bench.versions["whole"].id
    one, other = (NewSide(second_meter(bench, scale, name), version, None) for name in ("Mini", "Large"))
    subjects = tuple(Coffee(no, f"Subject {no}", str(100 + no), "a") for no in range(1, 18))
    there = plan(bench, coffees=subjects, a=one, b=other, scale_id=scale, bound=1000, readings=1)
    client = lead
    for no, values in enumerate(zip(mini, large, strict=True), 1):
        for side, value in zip("ab", values, strict=True):
            sent = {"id": str(uuid.uuid4()), "fills-0-readings-0-value": str(value)}
            assert client.post(f"/comparisons/{there.id}/{no}/{side}", data=sent).status_code == 303
    said = words(client, there)
    minus = "\N{MINUS SIGN}"
    assert f"Mean difference (bias) {minus}2.1 {minus}22.0 to +17.8" in said
    assert f"Lower limit of agreement {minus}78.1" in said
    assert "Upper limit of agreement +73.9" in said


def test_it_says_so_when_targets_changed_meanwhile_and_stores_nothing(bench, lead):
    there = plan(bench, bound=50)
    read_all(bench, there, *readings(shift=2.0))
    shown = products.target_in_force(bench.db, bench.product)
    products.add_target_version(
        bench.db, bench.product, bench.scale, "guarded", 0.8, bench.methods["whole"], bench.methods["ground"],
        [TargetBand("whole", 5500, 5600, 5700)], "tighter", SYSTEM, bench.now,
    )  # fmt: skip
    answer = conclude(bench, lead, there, "move", bench.product, **{f"base-{bench.product}": shown.id})
    assert answer.status_code == 422
    assert "changed the targets of Lantern House meanwhile" in answer.get_data(as_text=True)
    assert compared.find_outcome(bench.db, there.id) is None
    assert band(bench) == (5500, 5600, 5700)


def test_it_says_so_when_somebody_read_meanwhile(bench, lead):
    there = plan(bench, bound=50)
    read_all(bench, there, *readings(shift=2.0))
    answer = conclude(bench, lead, there, "move", bench.product, seen="23")
    assert answer.status_code == 422
    assert compared.find_outcome(bench.db, there.id) is None


def test_it_asks_for_a_reason_and_for_a_product(bench, lead):
    there = plan(bench, bound=50)
    read_all(bench, there, *readings(shift=2.0))
    assert conclude(bench, lead, there, "move", bench.product, reason=" ").status_code == 422
    assert conclude(bench, lead, there, "move").status_code == 422
    assert compared.find_outcome(bench.db, there.id) is None


def test_it_concludes_once(bench, lead):
    there = plan(bench, bound=50)
    read_all(bench, there, *readings(shift=2.0))
    for _again in range(2):
        assert conclude(bench, lead, there, "move", bench.product).status_code == 303
    assert products.target_in_force(bench.db, bench.product).no == 2


def test_it_moves_only_what_is_on_the_scale_and_can_be_moved(bench, lead):
    """One product close to the scale's end, one on another scale, one without a band of the kind."""
    both = (bench.methods["whole"], bench.methods["ground"])
    for name, scale, bands in (
        ("Near the end", bench.scale, [TargetBand("whole", 14800, 14900, 15000)]),
        ("Other scale", bench.flipped, [TargetBand("whole", 4000, 4100, 4200)]),
        ("Only ground", bench.scale, [TargetBand("ground", 6000, 6100, 6200)]),
    ):
        products.add_product(bench.db, name, name[:4], scale, "simple", 0.8, *both, bands, SYSTEM, BEGINNING)
    there = plan(bench, bound=50)
    read_all(bench, there, *readings(shift=2.0))
    said = words(lead, there)
    assert "Near the end" in said
    assert "It would leave the scale." in said
    assert "Other scale" not in said
    assert "Only ground" not in said
    near = next(p.id for p in products.list_products(bench.db) if p.name == "Near the end")
    assert conclude(bench, lead, there, "move", near).status_code == 422


def test_it_rounds_the_moved_limits_half_to_even():
    moved = moved_band(TargetBand("whole", 5450, 5600, None), 0.05, 10)
    assert (moved.lower, moved.centre, moved.upper) == (5460, 5600, None)
    assert moved_band(TargetBand("whole", None, 5610, 5700), -0.05, 10) == TargetBand("whole", None, 5600, 5700)


def test_it_names_the_other_method_in_the_new_targets(bench, lead):
    steps = bench.versions["whole"].steps
    other = methods.add_method(bench.db, "Deep dish, tapped", "whole", "", 3, 1, None, steps, SYSTEM, BEGINNING)
    version = methods.version_in_force(bench.db, other).id
    there = plan(bench, what="methods", bound=50, b=NewSide(bench.meter, version, None))
    read_all(bench, there, *readings(shift=-2.0))
    assert "darker than" in words(lead, there)
    conclude(bench, lead, there, "move", bench.product)
    after = products.target_in_force(bench.db, bench.product)
    assert (after.whole_method_id, after.ground_method_id) == (other, bench.methods["ground"])
    assert band(bench) == (5250, 5400, 5550)


def test_it_is_a_leads_alone_and_asks_for_the_pin_again(app, bench, sign_in, lead):
    there = plan(bench, bound=50)
    read_all(bench, there, *readings(shift=2.0))
    for role in ("trainee", "roaster"):
        assert sign_in(role).get(f"/comparisons/{there.id}/outcome").status_code == 403
        assert conclude(bench, sign_in(role), there, "move", bench.product).status_code == 403
    late = app.test_client()
    late.set_cookie("tablet", bench.tablet_secret)
    token = sessions.start_session(bench.db, bench.people["lead"], bench.tablet, 12, bench.now)
    sessions.confirm_session(bench.db, sessions.hashed(token), later(bench.now, minutes=-30))
    late.set_cookie("person", token)
    answer = conclude(bench, late, there, "move", bench.product)
    assert answer.status_code == 403
    assert "PIN" in answer.get_data(as_text=True)
    assert compared.find_outcome(bench.db, there.id) is None
    assert products.target_in_force(bench.db, bench.product).no == 1


def test_it_says_lighter_and_darker_on_a_scale_that_runs_the_other_way(bench, lead):
    version = bench.versions["whole"].id
    one = NewSide(bench.flipped_meter, version, None)
    other = NewSide(second_meter(bench, bench.flipped, "Meter F"), version, None)
    there = plan(bench, scale_id=bench.flipped, bound=50, a=one, b=other)
    read_all(bench, there, *readings(shift=2.0))
    assert "darker than Meter B" in words(lead, there)
