"""Somebody with the standard library's sqlite3 and a path: a process of its own, none of our code in it.

Apart from being what an attacker would use, it has to be another process: two SQLite engines in one process
break each other's file locks (sqlite.org/howtocorrupt.html, section 2.2).
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

SCRIPT = """
import json, sqlite3, sys

said = []
for statements in json.load(sys.stdin):
    connection = sqlite3.connect(sys.argv[1], isolation_level=None)
    try:
        for statement in statements:
            rows = connection.execute(statement).fetchall()
        said.append(rows)
    except sqlite3.Error as error:
        said.append(f"{type(error).__name__}: {error}")
    connection.close()
json.dump(said, sys.stdout)
"""


def run(path: Path, *attempts: list[str]) -> list:
    """Run lists of statements, each list on a connection of its own: its last rows, or what SQLite said against it."""
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", SCRIPT, str(path)],
        input=json.dumps(attempts),
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def force(path: Path, *statements: str) -> list:
    """Statements that must succeed; the rows of the last."""
    (said,) = run(path, list(statements))
    assert isinstance(said, list), said
    return said
