"""What a run of batches says: the words, what they rest on, and which comes first."""

import pytest

from webapp.measure.advice import Advice, advise, false_alarm, look
from webapp.measure.capability import capability_of
from webapp.measure.charts import Limits

KNOWN = Limits(100, 0.0, 1.0, -3.0, 3.0, 1.13, 3.69, False)
# Up and down within a sigma: no rule fires, and the running mean stays at home.
STEADY = [0.6, -0.6, 0.3, -0.3, 0.5, -0.5] * 6


def said(values, limits=KNOWN, band=None, **switched):
    capability = capability_of(values, *band, 0.1) if band else None
    return advise(look(values, limits, **switched), len(values), limits.values, capability)


def test_it_says_leave_it_alone_when_nothing_signals():
    assert said(STEADY) == Advice("leave")
    assert said(STEADY, band=(-6.0, 6.0)) == Advice("leave")


def test_it_says_nothing_before_there_are_twenty():
    few = Limits(19, 0.0, 1.0, -3.0, 3.0, 1.13, 3.69, False)
    assert said([9.0] * 19, few) == Advice("too_few")
    assert advise(look([], KNOWN), 0, 100, None) == Advice("too_few")


def test_it_names_the_rule_the_point_and_the_side_of_a_signal():
    found = said([*STEADY, 3.5])
    assert (found.word, found.rule, found.point, found.since, found.side) == ("changed", 1, 36, 36, "above")
    found = said([*STEADY, -2.1, 0.1, -2.1])
    assert (found.word, found.rule, found.point, found.since, found.side) == ("changed", 2, 38, 36, "below")


def test_it_names_the_running_mean_when_that_alone_signals():
    # A good sigma to one side, interrupted again and again: none of the four rules.
    drifting = [*STEADY, *[1.9, 1.9, 0.9, 0.9, 1.9, 1.9, 0.9, -0.05] * 4]
    assert said(drifting, average=False) == Advice("leave")
    found = said(drifting)
    assert (found.word, found.rule, found.side) == ("changed", 0, "above")
    assert look(drifting, KNOWN).average[found.point].signal == "above"


def test_it_lets_go_of_what_is_over():
    over = [*STEADY, 3.5]
    assert said([*over, *[-0.4, 0.4] * 3]).word == "changed"
    assert said([*over, *[-0.4, 0.4] * 4]) == Advice("leave")


@pytest.mark.parametrize(("band", "word", "side"), [
    ((-1.0, 1.0), "cannot_hold", None),
    ((-6.0, 1.0), "off_centre", "above"),
    ((-1.0, 6.0), "off_centre", "below"),
    ((-1.0, None), "off_centre", "below"),
    ((None, 9.0), "leave", None),
])  # fmt: skip
def test_it_tells_too_much_scatter_from_a_wrong_place(band, word, side):
    found = said(STEADY, band=band)
    assert (found.word, found.side) == (word, side)


def test_it_says_when_the_numbers_leave_no_doubt():
    assert said(STEADY, band=(-1.0, 1.0)).sure
    assert not said(STEADY, band=(-2.3, 2.3)).sure
    assert said(STEADY, band=(-2.3, 2.3)).word == "cannot_hold"


def test_it_lets_a_signal_go_before_the_capability():
    # A process that is not steady has no capability to speak of.
    assert said([*STEADY, 3.5], band=(-1.0, 1.0)).word == "changed"


def test_it_states_what_false_alarms_cost():
    assert false_alarm(average=False) == 91.75
    assert false_alarm((1,), average=False) == 370.4
    for rules in ((1,), (1, 2), (1, 3), (1, 4), (1, 2, 3), (1, 2, 4), (1, 3, 4), (1, 2, 3, 4)):
        assert false_alarm(rules) < false_alarm(rules, average=False)
    with pytest.raises(KeyError):
        false_alarm((2, 3))
