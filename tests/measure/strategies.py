"""What the property tests draw from: readings as a bench types them, in whole steps of a scale."""

from hypothesis import strategies as st

from webapp.measure import Band, Rule, Sigmas

STEPS = (0.01, 0.1, 0.5, 1.0)


def in_steps(step, low=0, high=1500):
    """Decimal readings on a grid of ``step``, as the floats that typed text becomes."""
    places = 2 if step < 0.1 else 1
    return st.integers(low, high).map(lambda count: round(count * step, places))


steps = st.sampled_from(STEPS)
sigmas_of_readings = st.floats(0, 5)
readings = st.lists(in_steps(0.1), min_size=1, max_size=12)
some_sigmas = st.builds(Sigmas, st.floats(0.01, 2), st.floats(0.01, 2), st.just("assumed"))
values = st.floats(0, 150)
uncertainties = st.floats(0.001, 10)
rules = st.one_of(st.just(Rule("simple")), st.builds(Rule, st.just("guarded"), st.floats(0.55, 0.99)))


@st.composite
def bands(draw, two_sided=False):
    """Bands of every shape: two limits, one, with a centre and without."""
    lower = draw(st.integers(10, 1200)) / 10
    width = draw(st.integers(2, 200)) / 10
    centre = draw(st.one_of(st.none(), st.floats(0.05, 0.95).map(lambda share: lower + share * width)))
    shape = draw(st.sampled_from(("both",) if two_sided else ("both", "lower", "upper")))
    return Band(
        None if shape == "upper" else lower,
        centre,
        None if shape == "lower" else lower + width,
    )


def mirrored(band):
    """The same band on a scale that counts the other way."""
    return Band(
        None if band.upper is None else -band.upper,
        None if band.centre is None else -band.centre,
        None if band.lower is None else -band.lower,
    )
