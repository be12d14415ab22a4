"""Roast requirements of published cupping standards, as products whose verdicts are checked.

Specialty Coffee Association, Coffee Standards (revised 2018), section 3, cupping standards: ground to the
cupping grind 63.0 +/- 1.0 on a scale where higher is lighter. The whole bean target of 58 +/- 1 that belongs
to it is from memory. Fine Robusta cupping protocol: whole bean 48 and ground 78, +/- 1. The readings and the
uncertainties are made up.
"""

import pytest

from webapp.measure import (
    Band,
    Part,
    Rule,
    Sigmas,
    batch_verdict,
    difference,
    fill_value,
    judge,
    sample_result,
)

LIGHTER = 1
WHOLE = Band(57.0, 58.0, 59.0)
GROUND = Band(62.0, 63.0, 64.0)
SIGMAS = {"whole": Sigmas(0.15, 0.20, "study"), "ground": Sigmas(0.10, 0.15, "study")}


def _measured(kind, *fills):
    values = [fill_value(readings, 3, SIGMAS[kind].sigma_r, 0.1) for readings in fills]
    return sample_result(values, SIGMAS[kind], 0.1, 0.1)


def _batch(whole, ground, rule):
    parts = [
        Part("whole", True, judge(whole.value, whole.u, WHOLE, rule, LIGHTER)),
        Part("ground", True, judge(ground.value, ground.u, GROUND, rule, LIGHTER)),
    ]
    return parts, batch_verdict(parts)


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [(61.9, "outside"), (62.0, "inside"), (63.0, "inside"), (64.0, "inside"), (64.1, "outside")],
)
def test_it_reads_the_requirement_from_limit_to_limit_with_the_simple_rule(reading, verdict):
    result = _measured("ground", [reading] * 3)
    assert judge(result.value, result.u, GROUND, Rule("simple"), LIGHTER).verdict == verdict


def test_it_passes_a_roast_on_the_target():
    whole, ground = _measured("whole", [58.0, 58.1, 57.9]), _measured("ground", [63.0, 63.1, 63.0])
    parts, batch = _batch(whole, ground, Rule("guarded", 0.95))
    assert batch.verdict == "inside"
    assert not batch.needs_concession
    assert [round(part.judgement.position, 2) for part in parts] == [0.0, 0.03]


def test_it_names_the_side_of_a_roast_that_is_too_light_or_too_dark():
    for ground_at, side, beyond in ((64.6, "lighter", 0.6), (61.2, "darker", 0.8)):
        ground = _measured("ground", [ground_at] * 3)
        parts, batch = _batch(_measured("whole", [58.0] * 3), ground, Rule("guarded", 0.80))
        judgement = parts[1].judgement
        assert (batch.verdict, judgement.side) == ("outside", side)
        assert judgement.beyond == pytest.approx(beyond)
        assert batch.needs_concession


def test_it_calls_a_roast_near_the_limit_too_close_with_a_guarded_rule():
    ground = _measured("ground", [63.9, 63.9, 64.0])
    parts, batch = _batch(_measured("whole", [58.0] * 3), ground, Rule("guarded", 0.80))
    assert (batch.verdict, parts[1].judgement.side) == ("undecided", "lighter")
    assert batch.chance == parts[1].judgement.chance


def test_it_finds_the_difference_of_five_that_the_two_targets_imply():
    d = difference(_measured("ground", [63.0] * 3), _measured("whole", [58.0] * 3), 0.1, 0.1, same_meter=True)
    assert d.value == pytest.approx(5.0)
    assert judge(d.value, d.u, Band(4.0, 5.0, 6.0), Rule(), LIGHTER).verdict == "inside"


def test_it_has_no_universal_limit_for_the_difference():
    # The Robusta protocol's targets imply +30: in band for its own product, out for the other one.
    d = difference(_measured("ground", [78.0] * 3), _measured("whole", [48.0] * 3), 0.1, 0.1, same_meter=True)
    assert judge(d.value, d.u, Band(29.0, 30.0, 31.0), Rule(), LIGHTER).verdict == "inside"
    assert judge(d.value, d.u, Band(4.0, 5.0, 6.0), Rule(), LIGHTER).verdict == "outside"
