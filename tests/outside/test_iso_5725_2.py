"""ISO 5725-2:1994, B.1: sulfur in coal, eight laboratories, four levels. Data and results from memory, recomputed: the
data reproduce all printed figures by the standard's formulas for unequal numbers of results.

The bench pools its repeatability by the same formula (webapp.measure.within_fill, summed over fills). What it calls the
reproducibility limit of a precision study stands on every complete fill, of people with unequal numbers of them.
"""

import math

import pytest

from webapp.measure import mean, within_fill
from webapp.measure.nested import complete_part, components, reproducibility

COAL = [
    [(0.71, 0.71, 0.70, 0.71), (1.20, 1.18, 1.23, 1.21), (1.68, 1.70, 1.68, 1.69), (3.26, 3.26, 3.20, 3.24)],
    [(0.69, 0.67, 0.68), (1.22, 1.21, 1.22), (1.64, 1.64, 1.65), (3.20, 3.20, 3.20)],
    [(0.66, 0.65, 0.69), (1.28, 1.31, 1.30), (1.61, 1.61, 1.62), (3.37, 3.36, 3.38)],
    [(0.67, 0.65, 0.66), (1.23, 1.18, 1.20), (1.68, 1.66, 1.66), (3.16, 3.22, 3.23)],
    [
        (0.70, 0.69, 0.66, 0.71, 0.69), (1.31, 1.22, 1.22, 1.24), (1.64, 1.67, 1.60, 1.66, 1.68),
        (3.20, 3.19, 3.18, 3.27, 3.24),
    ],
    [(0.73, 0.74, 0.73), (1.39, 1.36, 1.37), (1.70, 1.73, 1.73), (3.27, 3.31, 3.29)],
    [(0.71, 0.71, 0.69), (1.20, 1.26, 1.26), (1.69, 1.70, 1.68), (3.27, 3.24, 3.23)],
    [(0.70, 0.65, 0.68), (1.24, 1.22, 1.30), (1.67, 1.68, 1.67), (3.25, 3.26, 3.26)],
]  # fmt: skip
PRINTED = [(0.690, 0.015, 0.026), (1.252, 0.029, 0.061), (1.667, 0.017, 0.035), (3.250, 0.026, 0.058)]
"""Of each level: general mean, s_r, s_R."""

LEVELS = range(4)


def cells(level):
    return [laboratory[level] for laboratory in COAL]


def by_the_standard(results):
    """(general mean, s_r, s_R) by the formulas of 7.4, for any numbers of results."""
    counts = [len(cell) for cell in results]
    n, p = sum(counts), len(results)
    within = sum(sum((x - mean(cell)) ** 2 for x in cell) for cell in results) / (n - p)
    centre = sum(sum(cell) for cell in results) / n
    between = sum(k * (mean(cell) - centre) ** 2 for k, cell in zip(counts, results, strict=True)) / (p - 1)
    of_a_cell = (n - sum(k * k for k in counts) / n) / (p - 1)
    return centre, math.sqrt(within), math.sqrt(within + max(0, (between - within) / of_a_cell))


@pytest.mark.parametrize("level", LEVELS)
def test_the_data_reproduce_the_printed_figures(level):
    assert tuple(round(v, 3) for v in by_the_standard(cells(level))) == PRINTED[level]


@pytest.mark.parametrize("level", LEVELS)
def test_it_pools_the_printed_repeatability(level):
    pooled = [within_fill(cell) for cell in cells(level)]
    s_r = math.sqrt(math.fsum(ss for ss, _df in pooled) / sum(df for _ss, df in pooled))
    assert round(s_r, 3) == PRINTED[level][1]


@pytest.mark.parametrize("level", LEVELS)
def test_it_gives_the_printed_mean_repeatability_and_reproducibility(level):
    found = reproducibility(cells(level))
    assert (round(found.mean, 3), round(found.s_r, 3), round(found.s_R, 3)) == PRINTED[level]
    assert (found.mean, found.s_r, found.s_R) == pytest.approx(by_the_standard(cells(level)), rel=1e-9)
    assert found.limit == pytest.approx(2.8 * found.s_R)


@pytest.mark.parametrize("wrong", [[[1.0, 2.0]], [[1.0], [2.0]], [[1.0, math.nan], [2.0]], [[], [1.0, 2.0]]], ids=str)
def test_it_refuses_what_says_nothing(wrong):
    with pytest.raises(ValueError):
        reproducibility(wrong)


@pytest.mark.parametrize("level", LEVELS)
def test_its_balanced_part_has_the_standard_s_repeatability_and_reproducibility(level):
    part = complete_part({"all": cells(level)}, 3)
    assert (part.fills, part.readings, part.left_out) == (8, 3, ())
    found = components(part.values)
    m, s_r, s_R = by_the_standard(part.values[0])
    assert (found.mean, found.sigma_r) == (pytest.approx(m, rel=1e-12), pytest.approx(s_r, rel=1e-9))
    assert math.hypot(found.sigma_r, found.sigma_f) == pytest.approx(s_R, rel=1e-9)
