"""Published nested studies: variance components and their table of mean squares.

NIST/SEMATECH e-Handbook (public domain; doi 10.18434/M32189), 3.5.1.4: furnace runs, locations in a run, wafers of a
location; data as published with Dataplot (FURNACE.DAT). Dyestuff and Pastes: Davies and Goldsmith, Statistical Methods
in Research and Production, 1972, 6.4 and 6.5; data as in the public data sets of these names; the components of
Dyestuff are also those in the tests of the R package lme4, the standard deviations of Pastes are from memory,
recomputed. Pigment paste: Box, Hunter and Hunter, Statistics for Experimenters, 1978, table 17.3; data and printed
results from memory, recomputed: the data reproduce every printed figure.
"""

import pytest

from tests.support.furnace import FURNACE
from webapp.measure.nested import components


def test_it_gives_the_printed_table_of_the_furnace_study():
    # Printed: 20, 63, 84 degrees of freedom; 61442.29, 36014.5, 10155; 3072.11, 571.659, 120.893; 5.37404, 4.72864.
    found = components(FURNACE)
    assert [row.df for row in found.table] == [20, 63, 84]
    run, location, within = found.table
    assert (round(run.ss, 2), round(location.ss, 1), round(within.ss, 3)) == (61442.29, 36014.5, 10155)
    assert (round(run.ms, 2), round(location.ms, 3), round(within.ms, 3)) == (3072.11, 571.659, 120.893)
    assert (round(run.f, 5), round(location.f, 5), within.f) == (5.37404, 4.72864, None)


def test_it_gives_the_printed_components_of_the_furnace_study():
    found = components(FURNACE)
    assert [round(v, 5) for v in found.kept] == [312.55694, 225.38294, 120.89286]
    assert found.kept == found.raw
    shares = [found.shares[name] * 100 for name in ("person", "fill", "reading")]
    # Printed 47.44, 34.21 and 18.35 %.
    assert [round(share, 2) for share in shares] == [47.44, 34.21, 18.35]
    sds = (found.sigma_p, found.sigma_f, found.sigma_r)
    assert [round(sd, 3) for sd in sds] == [17.679, 15.013, 10.995]
    assert found.mean == pytest.approx(563.0357142857143, rel=1e-14)


DYESTUFF = [
    [1545, 1440, 1440, 1520, 1580], [1540, 1555, 1490, 1560, 1495], [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545], [1595, 1630, 1515, 1635, 1625], [1520, 1455, 1450, 1480, 1445],
]  # fmt: skip


def test_it_gives_the_components_of_dyestuff():
    found = components([DYESTUFF])
    batch, within = found.table
    assert (batch.ss, batch.df, batch.ms) == (pytest.approx(56357.5), 5, pytest.approx(11271.5))
    assert (within.ss, within.df, within.ms) == (pytest.approx(58830), 24, pytest.approx(2451.25))
    assert found.kept == pytest.approx((None, 1764.05, 2451.25))
    # lme4 prints 1764.050060 and standard deviations of 42.0006 and 49.5101.
    assert (round(found.sigma_f, 4), round(found.sigma_r, 4)) == (42.0006, 49.5101)
    assert (found.mean, found.sigma_p, found.interval_p) == (1527.5, None, None)


PASTES = [
    [(62.8, 62.6), (60.1, 62.3), (62.7, 63.1)], [(60.0, 61.4), (57.5, 56.9), (61.1, 58.9)],
    [(58.7, 57.5), (63.9, 63.1), (65.4, 63.7)], [(57.1, 56.4), (56.9, 58.6), (64.7, 64.5)],
    [(55.1, 55.1), (54.7, 54.2), (58.8, 57.5)], [(63.4, 64.9), (59.3, 58.1), (60.5, 60.0)],
    [(62.5, 62.6), (61.0, 58.7), (56.9, 57.7)], [(59.2, 59.4), (65.2, 66.0), (64.8, 64.1)],
    [(54.8, 54.8), (64.0, 64.0), (57.7, 56.8)], [(58.3, 59.3), (59.2, 59.2), (58.9, 56.6)],
]  # fmt: skip


def test_it_gives_the_components_of_pastes():
    found = components(PASTES)
    assert [round(row.ss, 4) for row in found.table] == [247.4027, 350.9067, 20.34]
    assert [row.ms for row in found.table] == pytest.approx([27.4891852, 17.5453333, 0.678], abs=5e-8)
    sds = (found.sigma_f, found.sigma_p, found.sigma_r)
    assert [round(sd, 4) for sd in sds] == [2.9041, 1.2874, 0.8234]
    assert round(found.mean, 4) == 60.0533


PIGMENT = [
    [(40, 39), (30, 30)], [(26, 28), (25, 26)], [(29, 28), (14, 15)], [(30, 31), (24, 24)], [(19, 20), (17, 17)],
    [(33, 32), (26, 24)], [(23, 24), (32, 33)], [(34, 34), (29, 29)], [(27, 27), (31, 31)], [(13, 16), (27, 24)],
    [(25, 23), (25, 27)], [(29, 29), (31, 32)], [(19, 20), (29, 30)], [(23, 24), (25, 25)], [(39, 37), (26, 28)],
]  # fmt: skip


def test_it_gives_the_printed_components_of_pigment_paste():
    found = components(PIGMENT)
    assert [(round(row.ss, 2), row.df) for row in found.table] == [(1210.93, 14), (869.75, 15), (27.5, 30)]
    assert [round(row.ms, 3) for row in found.table] == [86.495, 57.983, 0.917]
    batch, sample, test = found.kept
    assert (round(batch, 1), round(sample, 1), round(test, 2)) == (7.1, 28.5, 0.92)
