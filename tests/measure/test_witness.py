"""Loss beside colour: which batches are pointed at, and when nothing is said."""

import random

import pytest

from webapp.measure.witness import NoSpread, alarm_limit, loss_percent, studentized, witness_of

SEED = 20260514


def made(many, slope=-2.5, scatter=0.4, seed=SEED):
    print(f"seed {seed}")
    draw = random.Random(seed)
    losses = [draw.gauss(15, 0.2) for _ in range(many)]
    return losses, [62 + slope * (loss - 15) + draw.gauss(0, scatter) for loss in losses]


def test_it_points_at_nothing_where_loss_and_colour_belong_together():
    found = witness_of(*made(60), 0.1)
    assert found.doubts == ()
    assert found.line.clear
    assert found.line.slope == pytest.approx(-2.5, abs=0.6)


def test_it_finds_a_batch_that_was_mixed_up():
    losses, colours = made(40)
    colours[17] += 4
    [one] = witness_of(losses, colours, 0.1).doubts
    assert (one.index, one.odd) == (17, "colour")
    assert one.reach[0] < one.expected < one.reach[1] < colours[17]
    assert one.t > alarm_limit(40)


@pytest.mark.parametrize("by", [1.2, 3, -2, 20])
def test_it_finds_a_wrong_mass_however_far_out(by):
    losses, colours = made(40)
    losses[5] += by
    [one] = witness_of(losses, colours, 0.1).doubts
    assert (one.index, one.odd) == (5, "loss")
    assert (one.t > 0) == (by > 0)
    assert one.reach[0] < losses[5] - by < one.reach[1]


@pytest.mark.parametrize("darker", [2, 5])
def test_it_lets_pass_a_batch_that_is_darker_as_a_whole(darker):
    # As of a longer roast: by the same line, in loss and colour alike.
    losses, colours = made(40, slope=-3)
    losses[7], colours[7] = 15 + darker / 3, 62 - darker
    assert witness_of(losses, colours, 0.1).doubts == ()


def test_it_sees_a_small_one_behind_a_gross_one():
    losses, colours = made(40)
    colours[3], colours[8] = colours[3] + 30, colours[8] - 3
    assert [one.index for one in witness_of(losses, colours, 0.1).doubts] == [3, 8]


def test_it_points_at_nobody_where_the_loss_says_nothing():
    losses, colours = made(40, slope=0)
    colours[3] += 4
    found = witness_of(losses, colours, 0.1)
    assert not found.line.clear
    assert found.doubts == ()


def test_it_lets_pass_what_differs_by_less_than_rounding():
    # All on one line but one, by a twentieth of a step.
    losses = [14 + 0.1 * no for no in range(20)]
    colours = [60 - 2 * loss for loss in losses]
    colours[9] += 0.005
    assert witness_of(losses, colours, 0.1).doubts == ()


def test_it_keeps_half_of_the_batches_for_its_line():
    # Two flocks: no line holds for both, and it does not go on taking out.
    losses, colours = made(30, scatter=0.05)
    colours = [colour + (20 if no % 2 else 0) for no, colour in enumerate(colours)]
    assert len(witness_of(losses, colours, 0.1).doubts) <= 15


def test_it_knows_when_nothing_can_be_said():
    losses, colours = made(14)
    with pytest.raises(ValueError, match="15"):
        witness_of(losses, colours, 0.1)
    with pytest.raises(NoSpread):
        witness_of([15.0] * 20, [62.0] * 20, 0.1)
    with pytest.raises(ValueError, match="finite"):
        witness_of([float("nan"), *losses, 15.0], [62.0, *colours, 62.0], 0.1)


def test_a_pair_that_alone_makes_the_line_has_no_residual():
    one = studentized([1, 1, 1, 1, 2], [5, 6, 5, 6, 9])[-1]
    assert (one.t, one.leverage) == (0.0, 1.0)


def test_loss_is_a_share_of_the_green_mass():
    # (green - roasted) / green: common practice, no source.
    assert loss_percent(1000, 875) == 12.5
    with pytest.raises(ValueError, match="green_g"):
        loss_percent(0, 1)
