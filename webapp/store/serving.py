"""Who serves a database file: one server at a time, held by a lock that ends with its last process."""

from __future__ import annotations

import fcntl
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO


class InUse(RuntimeError):
    """Another server, or a command that needs the file to itself, has the database."""


def hold(path: str | Path, wait_s: float = 0.0) -> IO[bytes]:
    """Take the database at `path` for this process and those that it forks; let go by closing what is returned.

    Beside the file lies another one, `.serving`, which only carries the lock: the kernel lets go of it when the last
    process ends, however it ends. InUse: somebody else has it, after `wait_s` seconds still (workers of a server that
    was killed take a moment to notice).
    """
    # Not closed here: it stays open for as long as the lock is held.
    lock = open(f"{path}.serving", "ab")  # noqa: SIM115
    end = time.monotonic() + wait_s
    while True:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return lock
        except BlockingIOError:
            if time.monotonic() >= end:
                lock.close()
                raise InUse(f"another server has {path}") from None
            time.sleep(0.05)


@contextmanager
def alone(path: str | Path) -> Iterator[None]:
    """Within it no server runs on the file. InUse: one does."""
    lock = hold(path)
    try:
        yield
    finally:
        lock.close()
