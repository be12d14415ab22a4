"""What a sample's meter was worth when it was read, and what became of it if the check after it failed."""

from __future__ import annotations

from dataclasses import dataclass

from sqlite_utils import Database

from webapp.store import look_backs, meter_state
from webapp.store.samples import Sample
from webapp.ui.meter_words import not_proven_text


@dataclass(frozen=True)
class MeterSays:
    """What a sample's meter was worth: in words ("" if it was proven), the failed check, and what became of it."""

    text: str
    check_id: str | None
    entry: look_backs.Entry | None


def meter_says(db: Database, sample: Sample) -> MeterSays:
    """See MeterSays."""
    state = meter_state.state_of(db, sample)
    check_id = None if sample.import_id else meter_state.failed_after(db, sample.meter_id, sample.made_at)
    entry = look_backs.entry_of(db, sample.id) if check_id else None
    return MeterSays(not_proven_text(state), check_id, entry)
