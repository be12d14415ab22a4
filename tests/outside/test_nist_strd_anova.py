"""NIST Statistical Reference Datasets, analysis of variance: AtmWtAg and SiRstv (public domain; doi 10.18434/T43G6C).

Data and certified values are read from the files as NIST published them, which scipy ships with its tests. The groups
are taken as one person's fills. A float carries the difference of two weights of silver (about 1e-5 of 108) to some 9
digits only, and that of the resistances to 12: so many certified digits can be met. What the code itself adds is
checked against exact fractions of the same floats.
"""

import math
import re
from fractions import Fraction
from importlib import resources

import pytest

from webapp.measure.nested import components

DIGITS = {"AtmWtAg": 9, "SiRstv": 12}


def _lines(name):
    return (resources.files("scipy.stats.tests.data.nist_anova") / f"{name}.dat").read_text().splitlines()


def _groups(name):
    """The observations by treatment: the lines of two numbers from line 61 on."""
    found = {}
    for line in _lines(name)[60:]:
        treatment, value = line.split()
        found.setdefault(treatment, []).append(float(value))
    return list(found.values())


def _certified(name, label):
    """The numbers in the line of the certified table (lines 41 to 47) that begins so."""
    line = next(line for line in _lines(name)[40:47] if line.strip().startswith(label))
    return [float(text) for text in re.findall(r"\d\S*", line.strip()[len(label) :])]


@pytest.mark.parametrize("name", DIGITS)
def test_it_gives_the_certified_table(name):
    between, within = components([_groups(name)]).table
    df, ss, ms, f = _certified(name, "Between")
    near = {"rel": 10.0 ** -DIGITS[name], "abs": 0}
    assert (between.df, between.ss, between.ms) == (df, pytest.approx(ss, **near), pytest.approx(ms, **near))
    assert between.f == pytest.approx(f, **near)
    df, ss, ms = _certified(name, "Within")
    assert (within.df, within.ss, within.ms) == (df, pytest.approx(ss, **near), pytest.approx(ms, **near))


@pytest.mark.parametrize("name", DIGITS)
def test_it_loses_nothing_beyond_the_binary_input(name):
    groups = [[Fraction(x) for x in group] for group in _groups(name)]
    means = [sum(group) / len(group) for group in groups]
    centre = sum(means) / len(means)
    between, within = components([_groups(name)]).table
    exact = len(groups[0]) * sum((m - centre) ** 2 for m in means)
    assert between.ss == pytest.approx(float(exact), rel=1e-12, abs=0)
    exact = sum((x - m) ** 2 for group, m in zip(groups, means, strict=True) for x in group)
    assert within.ss == pytest.approx(float(exact), rel=1e-12, abs=0)
    assert components([_groups(name)]).sigma_r == math.sqrt(within.ms)
