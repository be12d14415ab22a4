"""Two versions of a method beside each other: which steps are kept, changed, added or removed, and which words.

Titles are aligned first; of what remains between two kept titles, steps that share at least half of their words are
the same step with another title.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Literal

WORDS = re.compile(r"\w+|\s+|[^\w\s]")
# Below this share of common words two texts are told apart as a whole: single words marked in them say nothing.
ALIKE = 0.5

State = Literal["kept", "changed", "added", "removed"]


@dataclass(frozen=True)
class Piece:
    """A run of text; `only`: it stands in this version alone."""

    text: str
    only: bool = False


@dataclass(frozen=True)
class Line:
    """One thing that both versions say, each in pieces; empty where a version does not say it."""

    label: str
    a: tuple[Piece, ...]
    b: tuple[Piece, ...]

    @property
    def changed(self) -> bool:
        """Whether the two differ."""
        return text_of(self.a) != text_of(self.b)


# What a step says as it is shown: (label, text) of every part in the order of the screen, the title and how to do it
# first; '' where it says nothing.
StepText = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class StepPair:
    """A step of version a, of version b (its number, or None where there is none), and what they say."""

    state: State
    a_no: int | None
    b_no: int | None
    lines: tuple[Line, ...]


def text_of(pieces: Sequence[Piece]) -> str:
    """The pieces as one text."""
    return "".join(piece.text for piece in pieces)


def line(label: str, a: str, b: str) -> Line:
    """Two texts with the words marked that only one of them has."""
    if a == b:
        return Line(label, whole(a), whole(b))
    left, right = WORDS.findall(a), WORDS.findall(b)
    matcher = SequenceMatcher(None, left, right, autojunk=False)
    if matcher.ratio() < ALIKE:
        return Line(label, whole(a, True), whole(b, True))
    found: tuple[list[Piece], list[Piece]] = ([], [])
    for what, a0, a1, b0, b1 in matcher.get_opcodes():
        for pieces, words in zip(found, (left[a0:a1], right[b0:b1]), strict=True):
            if words:
                pieces.append(Piece("".join(words), what != "equal"))
    return Line(label, tuple(found[0]), tuple(found[1]))


def whole(text: str, only: bool = False) -> tuple[Piece, ...]:
    """A text in one piece; no piece for an empty one."""
    return (Piece(text, only),) if text else ()


def align(a: Sequence[StepText], b: Sequence[StepText]) -> list[StepPair]:
    """The steps of both versions in order, each beside its counterpart."""
    titles = [[step[0][1] for step in steps] for steps in (a, b)]
    pairs: list[StepPair] = []
    for what, a0, a1, b0, b1 in SequenceMatcher(None, *titles, autojunk=False).get_opcodes():
        if what == "equal":
            found: Iterator = zip(range(a0, a1), range(b0, b1), strict=True)
        else:
            found = between(a, b, range(a0, a1), range(b0, b1))
        pairs += [pair(a, b, at_a, at_b) for at_a, at_b in found]
    return pairs


def between(
    a: Sequence[StepText], b: Sequence[StepText], of_a: range, of_b: range
) -> Iterator[tuple[int | None, int | None]]:
    """Indexes of steps whose titles differ, paired by their words in the order of both versions."""
    rest = list(of_b)
    for at_a in of_a:
        twin = next((at_b for at_b in rest if alike(a[at_a], b[at_b])), None)
        while twin is not None and rest[0] != twin:
            yield None, rest.pop(0)
        if twin is not None:
            rest.pop(0)
        yield at_a, twin
    yield from ((None, at_b) for at_b in rest)


def alike(a: StepText, b: StepText) -> bool:
    """Whether two steps share at least half of their words: what to do, and how."""
    words = [[word.casefold() for _label, text in step[:2] for word in re.findall(r"\w+", text)] for step in (a, b)]
    return SequenceMatcher(None, *words, autojunk=False).quick_ratio() >= ALIKE


def pair(a: Sequence[StepText], b: Sequence[StepText], at_a: int | None, at_b: int | None) -> StepPair:
    """Two steps, or one of them alone. What neither says is left out."""
    if at_a is None or at_b is None:
        alone = b[at_b] if at_a is None else a[at_a]
        lines = [
            Line(label, (), whole(text)) if at_a is None else Line(label, whole(text), ()) for label, text in alone
        ]
        state: State = "added" if at_a is None else "removed"
    else:
        lines = [line(label, left, right) for (label, left), (_same, right) in zip(a[at_a], b[at_b], strict=True)]
        state = "changed" if any(said.changed for said in lines) else "kept"
    said_by_one = tuple(said for said in lines if said.a or said.b)
    return StepPair(state, *(None if at is None else at + 1 for at in (at_a, at_b)), said_by_one)
