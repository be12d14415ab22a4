"""Run code with the standard library's SQLite, as on a machine for which there is no pysqlite3."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# An entry of None makes `import pysqlite3` raise ImportError, as if it were not installed.
WITHOUT_PYSQLITE3 = "import sys\nsys.modules['pysqlite3'] = sys.modules['pysqlite3.dbapi2'] = None\n"


def start(code: str, *arguments: object) -> subprocess.Popen:
    """A process that runs `code`; sys.argv[1:] are the arguments."""
    return subprocess.Popen(
        [sys.executable, "-W", "error", "-c", WITHOUT_PYSQLITE3 + textwrap.dedent(code), *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )


def outputs(*processes: subprocess.Popen) -> list[str]:
    """What they printed, when all have ended; fails with the words of those that failed."""
    said = [process.communicate(timeout=60) for process in processes]
    assert [p.returncode for p in processes] == [0] * len(processes), [complaints for _printed, complaints in said]
    return [printed for printed, _complaints in said]


def run(code: str, *arguments: object) -> str:
    """Start, and wait for the end."""
    return outputs(start(code, *arguments))[0]
