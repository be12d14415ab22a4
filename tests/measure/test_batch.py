"""The verdict on a batch from those of its parts."""

import itertools

import pytest

from webapp.measure import Band, Part, Rule, batch_verdict, judge

BAND = Band(60.0, None, 64.0)
JUDGED = {
    "inside": judge(62.0, 0.1, BAND, Rule(), 1),
    "undecided": judge(64.0, 0.1, BAND, Rule(), 1),
    "outside": judge(65.0, 0.1, BAND, Rule(), 1),
}
KINDS = ("whole", "ground", "difference")
WORST_FIRST = ("outside", "undecided", "inside")


@pytest.mark.parametrize("verdicts", list(itertools.product(WORST_FIRST, repeat=3)))
def test_it_is_the_worst_of_its_parts(verdicts):
    parts = [Part(kind, True, JUDGED[word]) for kind, word in zip(KINDS, verdicts, strict=True)]
    worst = min(verdicts, key=WORST_FIRST.index)
    batch = batch_verdict(parts)
    assert (batch.verdict, batch.missing) == (worst, ())
    assert batch.chance == min(JUDGED[word].chance for word in verdicts)
    assert batch.needs_concession == (worst != "inside")
    assert batch_verdict(parts[::-1]) == batch


def test_it_is_incomplete_while_a_part_with_a_target_is_unmeasured():
    batch = batch_verdict([Part("whole", True, JUDGED["outside"]), Part("ground", True), Part("difference", True)])
    assert (batch.verdict, batch.missing) == ("incomplete", ("ground", "difference"))
    assert batch.chance == JUDGED["outside"].chance
    assert batch.needs_concession


def test_it_leaves_out_parts_without_a_target():
    batch = batch_verdict([Part("whole", False), Part("ground", True, JUDGED["inside"]), Part("difference", False)])
    assert (batch.verdict, batch.missing, batch.needs_concession) == ("inside", (), False)


@pytest.mark.parametrize("parts", [[], [Part("whole", False)], [Part("whole", False), Part("ground", False)]])
def test_it_is_unjudged_without_any_target(parts):
    batch = batch_verdict(parts)
    assert (batch.verdict, batch.chance, batch.missing, batch.needs_concession) == ("unjudged", None, (), False)


def test_it_has_no_chance_while_nothing_is_measured():
    assert batch_verdict([Part("whole", True), Part("ground", True)]).chance is None


@pytest.mark.parametrize("parts", [[], [Part("whole", True, JUDGED["inside"])]])
def test_it_keeps_its_verdict_but_needs_a_concession_when_the_meter_is_not_proven(parts):
    proven, doubted = batch_verdict(parts), batch_verdict(parts, meter_proven=False)
    assert doubted.verdict == proven.verdict
    assert (proven.needs_concession, doubted.needs_concession) == (False, True)


def test_it_refuses_a_part_twice_and_parts_that_cannot_be():
    with pytest.raises(ValueError):
        batch_verdict([Part("whole", True), Part("whole", True)])
    with pytest.raises(ValueError):
        Part("bean", True)
    with pytest.raises(ValueError):
        Part("whole", False, JUDGED["inside"])
