"""A band from reference batches: rounded outward, refused from too few. The factor: tests/outside."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.measure.normality import normality_of
from webapp.measure.tolerance import LEAST_REFERENCE, propose_band, tolerance_band

VALUES = st.lists(st.integers(5000, 7000).map(lambda n: n / 100), min_size=LEAST_REFERENCE, max_size=60)


@given(VALUES, st.sampled_from((0.05, 0.1, 0.25, 1.0)))
def test_it_never_holds_less_than_was_asked_for(values, step):
    found, exact = propose_band(values, step), tolerance_band(values)
    assert found.exact == pytest.approx(exact, rel=1e-12)
    assert float(found.lower) <= exact[0] + 1e-6 * step
    assert float(found.upper) >= exact[1] - 1e-6 * step
    # And by less than a step more, unless it had to be a step wide.
    unit = Decimal(str(step))
    assert found.lower > Decimal(exact[0]) - unit * Decimal("1.001") or found.lower == found.centre - unit
    assert found.lower < found.centre < found.upper
    assert all(end % unit == 0 for end in (found.lower, found.centre, found.upper))


def test_it_stays_on_a_step_that_is_met():
    # Twenty values of -1 and +1 about 60: mean and limits are exact decimals times the factor; a limit on a step stays.
    values = [59.0, 61.0] * 10
    found = propose_band(values, 0.1)
    assert found.centre == Decimal("60.0")
    assert found.centre - found.lower == found.upper - found.centre


def test_equal_batches_get_a_step_on_each_side():
    found = propose_band([62.0] * 12, 0.1)
    assert (found.lower, found.centre, found.upper) == (Decimal("61.9"), Decimal("62.0"), Decimal("62.1"))
    assert normality_of([62.0] * 12, 0.1) is None


def test_it_refuses_too_few():
    with pytest.raises(ValueError, match="10 batches at least"):
        propose_band([62.0, 61.9] * 4 + [62.0], 0.1)


def test_more_coverage_and_more_confidence_are_wider():
    values = [62 + 0.1 * (no % 7) for no in range(30)]
    usual = propose_band(values, 0.1)
    assert propose_band(values, 0.1, coverage=0.99).factor > usual.factor
    assert propose_band(values, 0.1, confidence=0.90).factor < usual.factor
