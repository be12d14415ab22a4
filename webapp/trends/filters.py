"""What the page's form asks for: which batches, and how many."""

from __future__ import annotations

from dataclasses import dataclass

from werkzeug.datastructures import MultiDict

from webapp.store import times
from webapp.store.trends import USUAL, Wanted
from webapp.ui.spans import read_span

SHOWN = (30, 100, 500, 5000)


@dataclass(frozen=True)
class Asked:
    """What was asked for. typed: as it stands in the form; problems: (id of a field, message)."""

    wanted: Wanted
    most: int
    typed: dict[str, str]
    problems: tuple[tuple[str, str], ...]

    @property
    def narrowed(self) -> bool:
        """Whether the batches are chosen, and not just the newest ones."""
        return any(self.typed[name] for name in ("machine", "person", "lot", "version", "since", "until"))

    @property
    def args(self) -> dict[str, str]:
        """What was asked for as it stands in an address, without what is usual."""
        return {name: text for name, text in self.typed.items() if text and (name, text) != ("newest", str(USUAL))}


def read(args: MultiDict, zone: str) -> Asked:
    """From the address. A day that is none is said, and counts as not given."""
    names = ("machine", "person", "lot", "version", "since", "until", "newest")
    typed = {name: args.get(name, "").strip() for name in names}
    span = read_span(typed["since"], typed["until"])
    moments = {
        name: times.to_text(times.day_bounds(day, zone)[no]) if day else ""
        for no, (name, day) in enumerate((("since", span.since), ("until", span.until)))
    }
    most = int(typed["newest"]) if typed["newest"] in map(str, SHOWN) else USUAL
    typed["newest"] = str(most)
    wanted = Wanted(
        typed["machine"] or None, typed["person"] or None, typed["lot"] or None, typed["version"] or None, **moments
    )  # fmt: skip
    return Asked(wanted, most, typed, span.problems)
