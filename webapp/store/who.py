"""Who writes: handed to every function that stores something, and kept in the ledger."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Who:
    """A person on a tablet; both None when the software itself writes (command line, first set-up)."""

    person_id: str | None = None
    role: str = "lead"
    tablet_id: str | None = None


SYSTEM = Who()
