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


def output(process: subprocess.Popen) -> str:
    """What it printed; fails with its words if it failed."""
    printed, complaints = process.communicate(timeout=60)
    assert process.returncode == 0, complaints
    return printed


def run(code: str, *arguments: object) -> str:
    """Start, and wait for the end."""
    return output(start(code, *arguments))
