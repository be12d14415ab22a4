"""How fast a precision study is worked out, on this machine: `python tests/benchmarks/studies.py`.

A study of 5 persons x 5 fills x 3 readings: components with their intervals, the tests for odd values, the planner.
Figures hang on the machine; the ratios are all from one run. Nothing here is a test: only whether it runs is tested.

    --smoke    everything once: shows that the benchmark works, its figures mean nothing
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from webapp.measure import nested, odd_values, planner, spread  # noqa: E402

WANTED = 20.0  # milliseconds for all of it
SIZES = ((2, 3, 2), (5, 5, 3), (10, 10, 5))
COSTS = planner.Costs(1.5, 0.2)


def made_up(persons: int, fills: int, readings: int) -> dict[str, list[list[float]]]:
    """A study with normal scatter, read in tenths; the same on every run."""
    draw = random.Random(7)
    study = {}
    for person in range(persons):
        own = draw.gauss(60, 0.3)
        centres = [draw.gauss(own, 0.5) for _fill in range(fills)]
        study[f"person {person}"] = [[round(draw.gauss(c, 0.3), 1) for _reading in range(readings)] for c in centres]
    return study


def work_out(study: dict[str, list[list[float]]], readings: int) -> tuple:
    """All that the page of a finished study needs."""
    part = nested.complete_part(study, readings)
    found = nested.components(part.values)
    odd = odd_values.odd_in(part.values, 0.1)
    groups = [[reading for fill in person for reading in fill] for person in part.values]
    tests = (odd_values.bartlett(groups), odd_values.levene(groups)) if len(groups) > 1 else ()
    cells = planner.table(found.sigma_r, found.sigma_f, 0.1, 0.2, COSTS)
    return found, odd, tests, cells, planner.cheapest(cells, 1.0), planner.floor(cells)


def milliseconds(work: Callable[[], object], times: int) -> float:
    """The median of so many runs."""
    taken = []
    for _run in range(times):
        started = time.perf_counter()
        work()
        taken.append((time.perf_counter() - started) * 1000)
    return median(taken)


def main() -> None:
    """Print the figures; exit code 1 if the study of 5 x 5 x 3 takes longer than wanted."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--smoke", action="store_true")
    times = 3 if parser.parse_args().smoke else 200
    studies = {size: made_up(*size) for size in SIZES}
    started = time.perf_counter()
    work_out(studies[5, 5, 3], 3)
    first = (time.perf_counter() - started) * 1000
    values = [x for fills in studies[5, 5, 3].values() for fill in fills for x in fill]
    bare = milliseconds(lambda: spread.standard_deviation(values), times)
    taken = {size: milliseconds(lambda size=size: work_out(studies[size], size[2]), times) for size in SIZES}
    print(f"the first one, with scipy's functions loaded: {first:8.2f} ms")
    for size, found in taken.items():
        wanted = f"   wanted: under {WANTED:.0f} ms" if size == (5, 5, 3) else ""
        print(f"{' x '.join(map(str, size)):>12}: {found:8.2f} ms{wanted}")
    print(f"5 x 5 x 3 over one standard deviation of its {len(values)} readings ({bare:.3f} ms): ", end="")
    print(f"{taken[5, 5, 3] / bare:.0f} times")
    print(f"10 x 10 x 5 over 5 x 5 x 3: {taken[10, 10, 5] / taken[5, 5, 3]:.1f} times, for 6.7 times as many readings")
    sys.exit(taken[5, 5, 3] > WANTED)


if __name__ == "__main__":
    main()
