"""Published critical values of Cochran's and Grubbs' tests, and of a handbook's example of Bartlett's and Levene's.

Cochran, 1 %: the table for the largest of k variances at faculty.washington.edu/heagerty (Biostatistics: A Methodology
for the Health Sciences, 2004); one entry (40 variances, 3 degrees of freedom) is 1.3 units of the last digit off the
formula, so two are allowed. Cochran, 5 %: ISO 5725-2, table 4, from memory, recomputed by the formula. Grubbs: the
table for one value at one end at chem.libretexts.org (Analytic References, appendix 7), with the figures of ISO
5725-2, table 5, whose last digits are not all rounded alike (1.1543 and 2.1266 are printed 1.155 and 2.126), so one
unit of it is allowed; its rows for n = 7 (2.202 for 2.020) and n = 15 (the 1 % figure of 14) are misprints, left out.
Bartlett and Levene: NIST/SEMATECH e-Handbook, 1.3.5.7 and 1.3.5.10, on GEAR.DAT as published with Dataplot; the
statistics were recomputed from these data by scipy to all digits.
"""

import pytest

from webapp.measure.odd_values import bartlett, cochran, grubbs, levene

# k variances: limits for 1, 2, 3, 4, 5 degrees of freedom each
COCHRAN_1 = {
    2: (0.9999, 0.9950, 0.9794, 0.9586, 0.9373),
    3: (0.9933, 0.9423, 0.8831, 0.8335, 0.7933),
    5: (0.9279, 0.7885, 0.6957, 0.6329, 0.5875),
    8: (0.7945, 0.6152, 0.5209, 0.4627, 0.4226),
    10: (0.7175, 0.5358, 0.4469, 0.3934, 0.3572),
    20: (0.4799, 0.3297, 0.2654, 0.2288, 0.2048),
    40: (0.2940, 0.1915, 0.1508, 0.1281, 0.1135),
}
# (p, n): 5 % limit, from memory, recomputed
COCHRAN_5 = {
    (2, 3): 0.975, (3, 2): 0.967, (5, 2): 0.841, (5, 3): 0.684, (8, 3): 0.516, (10, 2): 0.602, (10, 3): 0.445,
}  # fmt: skip
# n: 5 %, 1 %
GRUBBS = {
    3: (1.155, 1.155), 4: (1.481, 1.496), 5: (1.715, 1.764), 6: (1.887, 1.973), 8: (2.126, 2.274), 9: (2.215, 2.387),
    10: (2.290, 2.482), 11: (2.355, 2.564), 12: (2.412, 2.636), 13: (2.462, 2.699), 14: (2.507, 2.755),
}  # fmt: skip


def _scattering(p, n):
    """p cells of n values, the last of which scatters more than the others."""
    return [[50, *[50.1] * (n - 1)]] * (p - 1) + [[50, *[500.0] * (n - 1)]]


@pytest.mark.parametrize(
    ("p", "df", "limit"), [(p, df, v) for p, row in COCHRAN_1.items() for df, v in enumerate(row, 1)]
)
def test_it_has_the_published_1_percent_limits_of_cochran(p, df, limit):
    assert cochran(_scattering(p, df + 1)).limit_1 == pytest.approx(limit, abs=2e-4)


@pytest.mark.parametrize(("size", "limit"), COCHRAN_5.items())
def test_it_has_the_published_5_percent_limits_of_cochran(size, limit):
    assert cochran(_scattering(*size)).limit_5 == pytest.approx(limit, abs=5.1e-4)


@pytest.mark.parametrize(("n", "limits"), GRUBBS.items())
def test_it_has_the_published_limits_of_grubbs(n, limits):
    (odd,) = grubbs([*([50.0, 50.0 + 1e-7] * n)[: n - 1], 500.0])
    assert (odd.index, odd.word) == (n - 1, "outlier")
    assert (odd.limit_5, odd.limit_1) == pytest.approx(limits, abs=1e-3)


GEAR = [
    [1.006, 0.996, 0.998, 1.0, 0.992, 0.993, 1.002, 0.999, 0.994, 1.0],
    [0.998, 1.006, 1.0, 1.002, 0.997, 0.998, 0.996, 1.0, 1.006, 0.988],
    [0.991, 0.987, 0.997, 0.999, 0.995, 0.994, 1.0, 0.999, 0.996, 0.996],
    [1.005, 1.002, 0.994, 1.0, 0.995, 0.994, 0.998, 0.996, 1.002, 0.996],
    [0.998, 0.998, 0.982, 0.99, 1.002, 0.984, 0.996, 0.993, 0.98, 0.996],
    [1.009, 1.013, 1.009, 0.997, 0.988, 1.002, 0.995, 0.998, 0.981, 0.996],
    [0.99, 1.004, 0.996, 1.001, 0.998, 1.0, 1.018, 1.01, 0.996, 1.002],
    [0.998, 1.0, 1.006, 1.0, 1.002, 0.996, 0.998, 0.996, 1.002, 1.006],
    [1.002, 0.998, 0.996, 0.995, 0.996, 1.004, 1.004, 0.998, 0.999, 0.991],
    [0.991, 0.995, 0.984, 0.994, 0.997, 0.997, 0.991, 0.998, 1.004, 0.997],
]  # fmt: skip


def test_it_gives_the_handbook_s_bartlett_test_of_gear_diameters():
    # In full, recomputed by exact arithmetic and scipy.
    statistic, p = bartlett(GEAR)
    assert statistic == pytest.approx(20.78587342806484, rel=1e-12)
    assert p == pytest.approx(0.0136358632781, rel=1e-9)


def test_it_gives_the_handbook_s_levene_test_of_gear_diameters():
    statistic, p = levene(GEAR)
    assert statistic == pytest.approx(1.7059176930008939, rel=1e-11)
    assert p == pytest.approx(0.0990829755522, rel=1e-9)
