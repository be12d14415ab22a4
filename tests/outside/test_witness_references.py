"""Externally studentized residuals against statsmodels and values that are known from books.

Mickey, Dunn and Clark (Comput Biomed Res 1967; 1: 105-111): age at the first word and a test's score of 21 children.
The data are printed in many course texts; the residual 3.607 of child 19 and the leverage 0.652 of child 18 are from
memory, recomputed. Anscombe (Am Stat 1973; 27: 17-21), third data set: from memory, recomputed; ten of its eleven
points lie on one line, and the residual of the other is 1203.54.
"""

import random

import pytest
import statsmodels.api as sm
from scipy import stats
from statsmodels.stats.outliers_influence import OLSInfluence

from webapp.measure.witness import LEAST_BATCHES, alarm_limit, studentized, witness_of

SEED = 19670601

AGE = [15, 26, 10, 9, 15, 20, 18, 11, 8, 20, 7, 9, 10, 11, 11, 10, 12, 42, 17, 11, 10]
SCORE = [95, 71, 83, 91, 102, 87, 93, 100, 104, 94, 113, 96, 83, 84, 102, 100, 105, 57, 121, 86, 100]

X3 = [10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5]
Y3 = [7.46, 6.77, 12.74, 7.11, 7.81, 8.84, 6.08, 5.39, 8.15, 6.42, 5.73]


def fitted(xs, ys):
    return sm.OLS(ys, sm.add_constant(xs)).fit()


def test_it_gives_the_residual_and_the_leverage_of_the_books():
    found = studentized(AGE, SCORE)
    assert found[18].t == pytest.approx(3.607, abs=5e-4)
    assert found[17].leverage == pytest.approx(0.652, abs=5e-4)
    # The child that pulls hardest at the line is not the one that lies off it.
    assert abs(found[17].t) < 1


def test_it_gives_the_residual_of_anscombe_s_third_set():
    assert studentized(X3, Y3)[2].t == pytest.approx(1203.54, abs=0.005)


@pytest.fixture(params=range(4))
def made(request):
    """Losses and colours: made up, of a slope of about -5 for a percent."""
    print(f"seed {SEED + request.param}")
    draw = random.Random(SEED + request.param)
    losses = [draw.gauss(15, 0.2) for _ in range(LEAST_BATCHES + 30 * request.param)]
    return losses, [62 - 5 * (loss - 15) + draw.gauss(0, 0.5) for loss in losses]


def test_it_agrees_with_statsmodels(made):
    found, known = studentized(*made), OLSInfluence(fitted(*made))
    assert [one.t for one in found] == pytest.approx(list(known.resid_studentized_external), rel=1e-7, abs=1e-9)
    assert [one.leverage for one in found] == pytest.approx(list(known.hat_matrix_diag), rel=1e-9)


@pytest.mark.parametrize("odd", ["colour", "loss"])
def test_it_points_at_what_statsmodels_s_bonferroni_test_finds(made, odd):
    losses, colours = (list(values) for values in made)
    if odd == "colour":
        colours[-1] += 5 if losses[-1] > 15 else -5
    else:
        losses[-1] += 1.5
    model = fitted(losses, colours) if odd == "colour" else fitted(colours, losses)
    # Two ways of looking: half of the 5 % for each.
    table = model.outlier_test(method="bonf", alpha=0.025)
    known = [no for no, row in enumerate(table) if row[2] < 0.025]
    assert known == [len(losses) - 1]
    [one] = witness_of(losses, colours, 0.1).doubts
    assert (one.index, one.odd) == (known[0], odd)
    # Off the line of the others by as much as its externally studentized residual says.
    assert one.t == pytest.approx(table[known[0]][0], rel=1e-7)


@pytest.mark.parametrize("batches", [15, 40, 100])
def test_its_limit_is_the_point_of_student_s_t(batches):
    assert alarm_limit(batches) == pytest.approx(stats.t.ppf(1 - 0.05 / (4 * batches), batches - 3), rel=1e-10)


def test_it_raises_the_alarm_as_seldom_as_it_says():
    # 1500 runs of forty batches that belong together: at most one in twenty has one that is pointed at (standard error
    # 0.6 %), and not far fewer.
    print(f"seed {SEED}")
    draw, pointed = random.Random(SEED), 0
    for _ in range(1500):
        losses = [draw.gauss(15, 0.2) for _ in range(40)]
        found = witness_of(losses, [62 - 3 * (loss - 15) + draw.gauss(0, 0.5) for loss in losses], 0.01)
        pointed += bool(found.doubts)
    assert 0.01 <= pointed / 1500 <= 0.068
