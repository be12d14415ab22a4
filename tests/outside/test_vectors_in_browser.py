"""The measurement core's twin in the browser gives what Python gives, on vectors.json and on made-up samples.

Numbers to 1e-9 of their size, words exactly. The modules are those that the bench loads; nothing is fetched
from anywhere but this computer.
"""

import functools
import http.server
import math
import random
import threading
from pathlib import Path

import pytest

from tests.outside.make_vectors import call
from tests.outside.test_vectors import CASES, alike
from webapp.measure import CRITICAL_RANGE_FACTORS

pytestmark = pytest.mark.browser

STATIC = Path(__file__).parents[2] / "static"
RUN = """
async (cases) => {
  const twin = await import("/js/measure/index.mjs");
  return cases.map(({ name, given }) => {
    try {
      return twin[name](...given);
    } catch (error) {
      if (error instanceof twin.ReadingProblem) {
        return { problem: error.code, suggestion: error.suggestionHundredths };
      }
      if (error instanceof RangeError) return { refused: true };
      throw error;
    }
  });
}
"""


class _Quiet(http.server.SimpleHTTPRequestHandler):
    extensions_map = {**http.server.SimpleHTTPRequestHandler.extensions_map, ".mjs": "text/javascript"}

    def do_GET(self):
        if self.path != "/":
            return super().do_GET()
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.end_headers()
        self.wfile.write(b"<!doctype html><title>vectors</title>")

    def log_message(self, *args):
        pass


@pytest.fixture(scope="module")
def run(browser):
    """A function that runs cases [{name, given}] in a page and gives their outputs."""
    handler = functools.partial(_Quiet, directory=str(STATIC))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        page = browser.new_page()
        page.goto(f"http://127.0.0.1:{server.server_port}/")
        yield lambda cases: page.evaluate(RUN, cases)
        page.close()
        server.shutdown()


def _camel(value):
    """Names as the browser spells them: sigma_r is sigmaR; U stays U."""
    if isinstance(value, dict):
        return {_camel_word(key): _camel(item) for key, item in value.items()}
    return [_camel(item) for item in value] if isinstance(value, list) else value


def _camel_word(word):
    first, *rest = word.split("_")
    return first + "".join(part.capitalize() for part in rest)


def _for_the_browser(case):
    return {"name": _camel_word(case["function"]), "given": [_camel(v) for v in case["given"].values()]}


def _floats(value):
    """Whole numbers too as floats, since JavaScript knows but one kind of number."""
    if isinstance(value, dict):
        return {key: _floats(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_floats(item) for item in value]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _differing(found, expect):
    # Numbers below 1e-12 of a scale unit are the dust of rounding (a position at the centre), whatever their size.
    def settled(value):
        if isinstance(value, dict):
            return {key: settled(item) for key, item in value.items()}
        if isinstance(value, list):
            return [settled(item) for item in value]
        return 0.0 if isinstance(value, float) and abs(value) < 1e-12 else value

    pairs = zip(map(_floats, found), (_floats(_camel(e)) for e in expect), strict=True)
    return [(f, e) for f, e in pairs if not alike(settled(f), settled(e), 1e-9)]


def test_it_gives_the_output_of_every_case(run):
    found = run([_for_the_browser(case) for case in CASES])
    assert len(found) == len(CASES)
    assert _differing(found, [case["expect"] for case in CASES]) == []


def test_it_keeps_the_digits_of_the_normal_distribution(run):
    zs = [z / 50 for z in range(-1900, 1901)]
    found = run([{"name": "normalCdf", "given": [z]} for z in zs])
    for z, chance in zip(zs, found, strict=True):
        assert math.isclose(chance, 0.5 * math.erfc(-z / math.sqrt(2)), rel_tol=1e-12), z


def test_it_has_the_same_critical_range_factors(run):
    found = run([{"name": "criticalRange", "given": [n, 1.0, 0.001]} for n in range(2, 101)])
    assert found == list(CRITICAL_RANGE_FACTORS.values())


def _made_up(draw):
    """One made-up sample after another, through every function of the bench."""
    step = draw.choice((0.01, 0.1, 0.5, 1))
    places = 2 if step == 0.01 else 1
    sigmas = {"sigma_r": draw.uniform(0, 1), "sigma_f": draw.uniform(0, 1), "source": "study"}
    centre = round(draw.uniform(20, 120) / step) * step

    def readings():
        steps = [round(draw.gauss(centre, 0.8) / step) for _ in range(draw.randint(1, 6))]
        return [round(count * step, places) for count in steps]

    fills = []
    for _ in range(draw.randint(1, 4)):
        given = {"readings": readings(), "planned": draw.randint(1, 4), "sigma_r": sigmas["sigma_r"], "step": step}
        yield {"function": "fill_value", "given": given}
        fills.append(call("fill_value", given))
    given = {"fills": fills, "sigmas": sigmas, "step": step, "u_meter": draw.uniform(0, 0.5)}
    yield {"function": "sample_result", "given": given}
    result = call("sample_result", given)
    limits = [centre - draw.uniform(0.5, 3), None, centre + draw.uniform(0.5, 3)]
    limits[draw.choice((0, 1, 2))] = None
    if limits[0] is None and limits[2] is None:
        limits[0] = centre - 1
    band = dict(zip(("lower", "centre", "upper"), limits, strict=True))
    rule = {"kind": draw.choice(("guarded", "guarded", "simple")), "confidence": draw.uniform(0.6, 0.99)}
    about = {"value": result["value"], "u": result["u"], "band": band, "rule": rule, "lighter": draw.choice((1, -1))}
    yield {"function": "judge", "given": about}
    given = {
        "value": result["value"], "fills": result["fills"], "readings_per_fill": 3, "sigmas": sigmas, "step": step,
        "u_meter": 0.1, "band": band, "rule": rule, "lighter": about["lighter"],
    }  # fmt: skip
    yield {"function": "fills_to_settle", "given": given}
    yield {"function": "show_value", "given": {"value": result["value"], "step": step}}
    yield {"function": "show_give_or_take", "given": {"U": result["U"], "step": step}}
    yield {"function": "round_half_even", "given": {"value": -result["value"], "step": step}}


def test_it_gives_what_python_gives_on_made_up_samples(run):
    draw = random.Random(20)
    cases = [case for _ in range(1500) for case in _made_up(draw)]
    found = run([_for_the_browser(case) for case in cases])
    assert _differing(found, [call(case["function"], case["given"]) for case in cases]) == []
