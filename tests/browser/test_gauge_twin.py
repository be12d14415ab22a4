"""The gauge that the tablet draws without the server has everything where webapp/ui/gauge.py puts it."""

import json
import random
from dataclasses import asdict

from webapp.ui.gauge import make_gauge

RUN = """
async ([address, cases]) => {
  const { makeGauge } = await import(address);
  return JSON.stringify(JSON.parse(cases).map((given) => makeGauge(given)));
}
"""
NAMES = {"giveOrTake": "give_or_take"}


def cases(count: int):
    """Made-up bands, one-sided and missing ones too; values on ties of the rounding, far off and none."""
    draw = random.Random(6)
    for _ in range(count):
        step = draw.choice((0.01, 0.1, 0.5, 1.0, 5.0))
        lower = draw.randint(-40, 900)
        centre = lower + draw.randint(1, 60)
        upper = centre + draw.randint(1, 60)
        exact = draw.random() < 0.4
        value = draw.randint(-400, 2000) * (1 if exact else draw.uniform(0.2, 1))
        units = [n * step for n in (lower, centre, upper, value, draw.randint(0, 80) * draw.uniform(0, 1))]
        sides = draw.choice(("both", "both", "lower", "upper", "no centre", "none"))
        lower, centre, upper, value, u = units
        yield {
            "kind": draw.choice(("whole", "ground", "difference")),
            "value": None if draw.random() < 0.1 else value,
            "U": None if draw.random() < 0.1 else u,
            "lower": None if sides in ("upper", "none") else lower,
            "centre": None if sides in ("no centre", "none") else centre,
            "upper": None if sides in ("lower", "none") else upper,
            "step": step,
            "lighter": draw.choice((1, -1)),
            "shade": draw.choice(("", "#684026")),
            "verdict": draw.choice(("", "inside", "outside")),
            "scale": draw.choice((None, (0.0, 150.0), (lower - 100 * step, upper + 100 * step))),
        }


def python_twin(case: dict, mark: str) -> dict:
    """What Python makes of it, in the browser's names."""
    rest = {k: v for k, v in case.items() if k in ("step", "lighter", "shade", "verdict", "scale")}
    made = make_gauge(
        case["kind"], case["value"], case["U"], case["lower"], case["centre"], case["upper"], decimal_mark=mark, **rest
    )
    return plain(asdict(made))


def plain(value):
    """Tuples as lists, as JSON gives them."""
    if isinstance(value, dict):
        return {k: plain(v) for k, v in value.items()}
    return [plain(v) for v in value] if isinstance(value, list | tuple) else value


def in_pythons_names(made: dict) -> dict:
    return {NAMES.get(k, k): v for k, v in made.items()}


def test_it_draws_every_band_as_python_does(app, address, tablet):
    page = tablet(None)
    page.goto(address + "/sign-in")
    module = f"{app.static_url_path}/js/ui/gauge-geometry.mjs"
    for mark in (".", ","):
        given = list(cases(2000))
        # As one text each way: Playwright takes its time over thousands of small objects.
        found = json.loads(page.evaluate(RUN, [module, json.dumps([{**case, "mark": mark} for case in given])]))
        assert len(found) == len(given)
        for case, made in zip(given, found, strict=True):
            assert in_pythons_names(made) == python_twin(case, mark), case


def test_it_refuses_a_direction_that_is_none(app, address, tablet):
    page = tablet(None)
    page.goto(address + "/sign-in")
    refused = """async (address) => {
      const { makeGauge } = await import(address);
      try { makeGauge({ kind: "whole", value: 1, step: 0.1, lighter: 0 }); } catch (error) { return error.name; }
    }"""
    assert page.evaluate(refused, f"{app.static_url_path}/js/ui/gauge-geometry.mjs") == "RangeError"
