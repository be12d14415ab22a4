"""vectors.json: the inputs and outputs that Python and the browser must share, and the figures published."""

import json
import math

import pytest

from tests.outside.make_vectors import FILE, call, make, meets

CASES = json.loads(FILE.read_text(encoding="ascii"))


def alike(found, expect, rel):
    """The same shape and words, and numbers that differ by no more than ``rel`` of their size."""
    if isinstance(expect, dict):
        return found.keys() == expect.keys() and all(alike(found[key], expect[key], rel) for key in expect)
    if isinstance(expect, list):
        return len(found) == len(expect) and all(alike(f, e, rel) for f, e in zip(found, expect, strict=True))
    if isinstance(expect, float) and not isinstance(found, bool | str | None):
        return math.isclose(found, expect, rel_tol=rel, abs_tol=1e-300)
    return found == expect and isinstance(found, bool) == isinstance(expect, bool)


def test_it_is_what_make_vectors_writes():
    # Numbers to 1e-12: the last bits of the exponential function differ between C libraries.
    made = json.loads(json.dumps(make()))
    assert len(made) == len(CASES)
    for case, again in zip(CASES, made, strict=True):
        assert alike(again, case, 1e-12), case


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["function"])
def test_it_gives_the_output_of_every_case(case):
    assert alike(call(case["function"], case["given"]), case["expect"], 1e-9)


@pytest.mark.parametrize("case", [c for c in CASES if "published" in c], ids=lambda case: case["source"])
def test_it_meets_the_published_figure(case):
    assert meets(call(case["function"], case["given"]), case["published"])


def test_it_covers_every_function_that_the_browser_has():
    wanted = {
        "batch_verdict", "conformance_probability", "critical_range", "difference", "far_from_fellows",
        "far_from_history", "fill_value", "fills_range_limit", "fills_to_settle", "judge", "mean", "median",
        "more_readings", "normal_cdf", "parse_decimal", "parse_reading", "position", "round_half_even",
        "sample_result", "show_give_or_take", "show_percent", "show_signed", "show_value", "step_decimals",
    }  # fmt: skip
    assert {case["function"] for case in CASES} == wanted
