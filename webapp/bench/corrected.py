"""What the bench's pages say of corrections: struck facts, samples that came and went, a result that changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlite_utils import Database

from webapp.store import batch_corrections, result_changes, sample_moves, samples
from webapp.store.batch_corrections import BatchCorrection
from webapp.store.batches import Batch
from webapp.store.part_results import PartResult
from webapp.store.sample_moves import Move
from webapp.store.samples import Sample
from webapp.ui.change_words import ChangeWords, change_words, fact_names, fact_text


@dataclass(frozen=True)
class Corrected:
    """A correction of facts: fact's name, what stood and what stands then; reason, who and when in `of`."""

    of: BatchCorrection
    facts: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class Corrections:
    """struck: fact -> what stood before, oldest first. of_facts: the corrections of facts. moves: sample id -> its
    moves. left: the samples that were moved away. changes: what corrections did to the result, oldest first."""

    struck: dict[str, tuple[str, ...]]
    of_facts: tuple[Corrected, ...]
    moves: dict[str, list[Move]]
    left: tuple[Sample, ...]
    changes: tuple[ChangeWords, ...]


def corrections_of(db: Database, batch: Batch, parts: Mapping[str, PartResult], taken: list[Sample]) -> Corrections:
    """Everything that was corrected about a batch. parts: its result as it stands; taken: its samples."""
    made = batch_corrections.list_batch_corrections(db, batch.id)
    left = tuple(samples.get_sample(db, sample_id) for sample_id in sample_moves.moved_away(db, batch.id))
    steps = steps_of([*left, *taken])
    changes = result_changes.list_changes(db, batch.id)
    said = [change_words(change, steps, parts if change is changes[-1] else None) for change in changes]
    return Corrections(
        struck_facts(db, made), tuple(corrected(db, one) for one in made), sample_moves.list_moves(db, batch.id), left,
        tuple(said),
    )  # fmt: skip


def struck_facts(db: Database, made: list[BatchCorrection]) -> dict[str, tuple[str, ...]]:
    """Fact -> what stood before each of its corrections, oldest first, as the page shows it."""
    found: dict[str, tuple[str, ...]] = {}
    for change in (change for correction in made for change in correction.facts):
        found[change.fact] = (*found.get(change.fact, ()), fact_text(db, change.fact, change.before))
    return found


def corrected(db: Database, correction: BatchCorrection) -> Corrected:
    """See Corrected. The day goes with the time of the roast, and is not named beside it."""
    names = fact_names()
    facts = tuple(
        (names[change.fact], *(fact_text(db, change.fact, value) for value in (change.before, change.after)))
        for change in correction.facts if change.fact in names
    )  # fmt: skip
    return Corrected(correction, facts)


def steps_of(taken: list[Sample]) -> dict[str, float]:
    """kind -> the step of its scale, in scale units, by the last of these samples."""
    steps = {sample.kind: sample.step / 100 for sample in taken}
    return steps | {"difference": steps["ground"]} if "ground" in steps else steps


def changed_notice(db: Database, batch_id: str, parts: Mapping[str, PartResult], taken: list[Sample]):
    """What corrections did to the result since somebody last decided, told as one; None where it is as it was."""
    changes = result_changes.standing_changes(db, batch_id)
    change = result_changes.taken_together(changes)
    if change is None:
        return None
    known = {part.kind for part in change.parts} <= {sample.kind for sample in taken} | {"difference"}
    gone = [] if known else [samples.get_sample(db, one) for one in sample_moves.moved_away(db, batch_id)]
    return change_words(change, steps_of([*gone, *taken]), parts, len(changes))
