"""Lucas and Saccucci, Exponentially weighted moving average control schemes, Technometrics 1990; 32: 1-12.

Table 3: mean number of values up to a signal, for weight 0.2 and width 2.962, two-sided, starting at the centre,
**asymptotic** limits. Here they are simulated with our own chart. A meter's chart uses exact limits, which are
narrower at the start: it signals somewhat sooner, so its run lengths are not those of the table. Simulated apart from
our code, 60 000 runs each: 494, 40.5, 9.6 and 2.9 where the table has 500, 41.8, 10.5 and 3.7.
"""

import random

import pytest

from webapp.measure.control import WEIGHT, WIDTH, ewma, first_signal

SEED = 19900201
PRINTED = {0.0: (500, 2500), 0.5: (41.8, 5000), 1.0: (10.5, 5000), 2.0: (3.7, 5000)}
"""Shift in sigmas -> printed mean run length, and how many runs are made here: a standard error of 2 % at most."""


def mean_run_length(draw: random.Random, shift: float, runs: int, block: int) -> float:
    """The mean number of values up to the signal.

    The chart is asked for a block at a time. A run that goes on carries its state over: a value placed before the
    next block that makes the average what it was (w * state / w).
    """
    total = 0
    for _ in range(runs):
        carried: list[float] = []
        while True:
            points = ewma([*carried, *(draw.gauss(shift, 1.0) for _ in range(block))], 0.0, 1.0, exact=False)
            signal = first_signal(points)
            if signal is not None:
                total += signal + 1 - len(carried)
                break
            total += block
            carried = [points[-1].value / WEIGHT]
    return total / runs


@pytest.mark.parametrize("shift", PRINTED)
def test_it_signals_as_seldom_and_as_soon_as_the_published_table(shift):
    printed, runs = PRINTED[shift]
    print(f"seed {SEED}")
    assert (WEIGHT, WIDTH) == (0.2, 2.962)
    found = mean_run_length(random.Random(SEED), shift, runs, block=max(3, min(100, int(printed / 2))))
    print(f"shift {shift}: {found:.2f}, printed {printed}")
    assert found == pytest.approx(printed, rel=0.05)


def test_it_signals_sooner_with_the_exact_limits_of_a_meter_s_chart():
    # 2.9 instead of 3.7 at two sigma; 400 runs, a standard error of 0.08.
    draw = random.Random(SEED)
    found = []
    for _ in range(400):
        signal = first_signal(ewma([draw.gauss(2.0, 1.0) for _ in range(30)], 0.0, 1.0))
        assert signal is not None
        found.append(signal + 1)
    assert sum(found) / len(found) == pytest.approx(2.86, abs=0.3)
