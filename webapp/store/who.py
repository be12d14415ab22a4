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


@dataclass(frozen=True)
class Sent:
    """How a record came out of a tablet's outbox; all None for what is typed into a page.

    by: whose session sent it, who need not be who made it. claim_id: the claim under which it was made.
    clock: what the tablet's clock said (stored UTC text), where that lay ahead. seq: the tablet's own number for it.
    """

    by: str | None = None
    claim_id: str | None = None
    clock: str | None = None
    seq: int | None = None

    def columns(self) -> dict[str, str | int | None]:
        """The columns that keep it, the same in every table of facts."""
        return {"sent_by": self.by, "claim_id": self.claim_id, "tablet_clock": self.clock, "tablet_seq": self.seq}


TYPED = Sent()
