"""Every test, with one command: `python3 tests/run.py`. Makes its own environment; needs Python 3.11 or newer.

    python3 tests/run.py                    style, then every test but the long ones, three at a time
    python3 tests/run.py --long             the long fault and load runs as well
    python3 tests/run.py --bench            the benchmark, with its figures (see tests/benchmarks/bench.py)
    python3 tests/run.py tests/store -x     anything else goes to pytest
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from demo import environment  # noqa: E402

CHECKED = ("webapp", "tests", "demo", "deploy")


def main(arguments: list[str]) -> int:
    """Environment, browser, ruff, pytest; the exit code is that of the first that fails."""
    try:
        python = environment.ensure("tests,fuzz" if "--long" in arguments else "tests")
        if "--bench" in arguments:
            rest = [a for a in arguments if a != "--bench"]
            return run([python, "tests/benchmarks/bench.py", *rest])
        browser = find_or_get_browser(python)
    except environment.Trouble as trouble:
        print(trouble, file=sys.stderr)
        return 2
    environ = {"DRUMSIDE_CHROMIUM": browser or "none", **keeping_bytecode()}
    return run([python, "-m", "ruff", "check", *CHECKED]) or run(
        [python, "-m", "pytest", *pytest_arguments(arguments)], **environ
    )


def find_or_get_browser(python: Path) -> str | None:
    """A Chromium for the browser tests, fetched by Playwright if the system has none; None if it cannot be had."""
    browser = environment.find_browser()
    if browser is None:
        environment.say("No Chromium here: asking Playwright for its own.")
        subprocess.run([python, "-m", "playwright", "install", "chromium"])
        browser = environment.find_browser()
    if browser is None:
        line = "The browser tests need a Chromium and there is none: apt install chromium"
        if os.environ.get("CI"):
            raise environment.Trouble(f"{line} (with CI set, they are not skipped)")
        environment.say(f"{line} (they are skipped)")
    return browser


def keeping_bytecode() -> dict[str, str]:
    """Whatever is compiled is kept, and in the environment's folder: each worker, and each server that a test starts,
    would compile all of it again, and the clone stays as it is."""
    return {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(environment.folder() / "bytecode")}


def pytest_arguments(arguments: list[str]) -> list[str]:
    """What pytest is given: without --long, the long runs are left out; without anything else, three share the work."""
    rest = [a for a in arguments if a != "--long"]
    if "--long" in arguments or "-m" in rest:
        return rest
    # Three keep two processors busy, since those with a browser wait a good deal. A file goes to one worker as a whole,
    # with what it makes once for all its tests; in which order, tests/conftest.py says.
    return ["-m", "not long", *(rest or ["-n", "3", "--dist", "loadfile", "--no-loadscope-reorder"])]


def run(command: list, **environ: str) -> int:
    """Run one command in the clone; its exit code."""
    try:
        return subprocess.run(command, cwd=ROOT, env={**os.environ, **environ}).returncode
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
