"""The verdict on a batch from the judgements of its parts."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ._checks import one_of
from .conformity import Judgement

PartKind = Literal["whole", "ground", "difference"]


@dataclass(frozen=True)
class Part:
    """One part of a batch: has its product a target for it, and how was it judged (None: not measured).

    Raises ValueError for another kind, or a judgement without a target to judge against.
    """

    kind: PartKind
    has_target: bool
    judgement: Judgement | None = None

    def __post_init__(self) -> None:
        one_of("kind", self.kind, ("whole", "ground", "difference"))
        if self.judgement is not None and not self.has_target:
            raise ValueError("a part without a target cannot have been judged")


@dataclass(frozen=True)
class BatchVerdict:
    """What may be said about a batch.

    verdict  'incomplete' (a part with a target is not measured), 'inside', 'undecided', 'outside', or
             'unjudged' (no part has a target)
    chance   the least conformance probability of the judged parts, 0 to 1; None if none is judged
    missing  kinds with a target that are not measured, in the order given
    needs_concession  it cannot be released without a lead's concession
    """

    verdict: Literal["incomplete", "inside", "undecided", "outside", "unjudged"]
    chance: float | None
    missing: tuple[PartKind, ...]
    needs_concession: bool


def batch_verdict(parts: Sequence[Part], meter_proven: bool = True) -> BatchVerdict:
    """The verdict on a batch; parts without a target play no part in it.

    Incomplete while a part with a target is unmeasured, else outside if any part is, else undecided if any
    is, else inside. A release needs a concession unless the batch is inside (or has no target at all) and
    its meter is proven: what is not shown to be in band leaves only on a lead's word. Our own rule, no
    source. Raises ValueError if one kind is given twice.
    """
    kinds = [part.kind for part in parts]
    if len(set(kinds)) != len(kinds):
        raise ValueError("a batch has each kind of part once")
    wanted = [part for part in parts if part.has_target]
    missing = tuple(part.kind for part in wanted if part.judgement is None)
    judged = [part.judgement for part in wanted if part.judgement is not None]
    verdicts = {judgement.verdict for judgement in judged}
    if missing:
        verdict = "incomplete"
    elif not judged:
        verdict = "unjudged"
    else:
        verdict = next(word for word in ("outside", "undecided", "inside") if word in verdicts)
    chance = min((judgement.chance for judgement in judged), default=None)
    return BatchVerdict(verdict, chance, missing, not meter_proven or verdict not in ("inside", "unjudged"))
