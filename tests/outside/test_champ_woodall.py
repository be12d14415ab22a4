"""Champ and Woodall, Exact results for Shewhart control charts with supplementary runs rules, Technometrics 1987; 29:
393-399, table 1: mean number of values up to a signal, by the rules switched on and the shift of the mean in sigmas.

Worked out here exactly, as they did, by a Markov chain. What a next value does is asked of our own rules: each state
of the chain is a history, and histories that no rule can tell apart are one state.
"""

import numpy as np
import pytest
from scipy import stats

from webapp.measure.rules import RULES, RUN_LENGTHS, SHIFT_LENGTHS, signals

SHIFTS = (0, 0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.4, 2.6, 2.8, 3.0)
TABLE = {
    (1,): (370.40, 308.43, 200.08, 119.67, 71.55, 43.89, 27.82, 18.25, 12.38, 8.69, 6.30, 4.72, 3.65, 2.90, 2.38,
           2.00),
    (1, 2): (225.44, 177.56, 104.46, 57.92, 33.12, 20.01, 12.81, 8.69, 6.21, 4.66, 3.65, 2.96, 2.48, 2.13, 1.87,
             1.68),
    (1, 3): (166.05, 120.70, 63.88, 33.99, 19.78, 12.66, 8.84, 6.62, 5.24, 4.33, 3.68, 3.18, 2.78, 2.43, 2.14, 1.89),
    (1, 4): (152.73, 110.52, 59.76, 33.64, 21.07, 14.58, 10.90, 8.60, 7.03, 5.85, 4.89, 4.08, 3.38, 2.81, 2.35,
             1.99),
    (1, 2, 3): (132.89, 97.86, 52.93, 28.70, 16.93, 10.95, 7.68, 5.75, 4.54, 3.73, 3.14, 2.70, 2.35, 2.07, 1.85,
                1.67),
    (1, 2, 4): (122.05, 89.14, 48.71, 27.49, 17.14, 11.73, 8.61, 6.63, 5.27, 4.27, 3.50, 2.91, 2.47, 2.13, 1.87,
                1.68),
    (1, 3, 4): (105.78, 76.01, 40.95, 23.16, 14.62, 10.19, 7.66, 6.08, 5.01, 4.24, 3.65, 3.17, 2.77, 2.43, 2.14,
                1.89),
    (1, 2, 3, 4): (91.75, 66.80, 36.61, 20.91, 13.25, 9.22, 6.89, 5.42, 4.41, 3.68, 3.13, 2.70, 2.35, 2.07, 1.85,
                   1.67),
}  # fmt: skip

EDGES = (-np.inf, -3, -2, -1, 0, 1, 2, 3, np.inf)
ZONES = (-3.5, -2.5, -1.5, -0.5, 0.5, 1.5, 2.5, 3.5)
"""Between the edges nothing that a rule looks at changes: one value stands for all."""


def memory(history, rules):
    """What the rules can still make use of: of each its last values but one of its reach, by side."""
    kept = []
    for rule in rules:
        _needed, of, beyond = RULES[rule]
        last = history[-(of - 1) :] if of > 1 else ()
        sides = [int(value > beyond) - int(value < -beyond) for value in last]
        if rule == 4 and sides:
            # Only the run at the end: one on the other side ends it.
            run = next((no for no, side in enumerate(reversed(sides)) if side != sides[-1]), len(sides))
            sides = [sides[-1]] * run
        while sides and not sides[0]:
            del sides[0]
        kept.append(tuple(sides))
    return tuple(kept)


def chain(rules):
    """state -> (zone, next state or None for a signal), and the states' order; the first one remembers nothing."""
    start = memory((), rules)
    found, waiting = {start: None}, [(start, ())]
    while waiting:
        state, history = waiting.pop()
        steps = []
        for zone, value in enumerate(ZONES):
            longer = (*history, value)
            if any(signal.point == len(longer) - 1 for signal in signals(longer, 0.0, 1.0, rules)):
                continue
            # Seven values are as much as any rule looks back on.
            longer = longer[-7:]
            then = memory(longer, rules)
            steps.append((zone, then))
            if then not in found:
                found[then] = None
                waiting.append((then, longer))
        found[state] = steps
    return found


def run_lengths(rules, shifts):
    steps = chain(rules)
    index = {state: no for no, state in enumerate(steps)}
    for shift in shifts:
        chances = np.diff(stats.norm.cdf(EDGES, loc=shift))
        moves = np.zeros((len(index), len(index)))
        for state, onward in steps.items():
            for zone, then in onward:
                moves[index[state], index[then]] += chances[zone]
        yield float(np.linalg.solve(np.eye(len(index)) - moves, np.ones(len(index)))[0])


@pytest.mark.parametrize("rules", TABLE, ids=lambda rules: "".join(map(str, rules)))
def test_it_gives_every_printed_run_length(rules):
    found = [round(length, 2) for length in run_lengths(rules, SHIFTS)]
    assert found == pytest.approx(list(TABLE[rules]), abs=0.0101)


def test_it_states_the_printed_false_alarms():
    assert {rules: row[0] for rules, row in TABLE.items()} == RUN_LENGTHS
    assert {rules: row[SHIFTS.index(1.0)] for rules, row in TABLE.items()} == SHIFT_LENGTHS


def test_its_chain_is_no_smaller_than_it_must_be():
    # With rule 1 alone nothing is remembered; with rule 4 the side and the length of the run, 0 to 7.
    assert len(chain((1,))) == 1
    assert len(chain((1, 4))) == 15
