"""What the bench listens for in its trends: one choice for all products, made by a lead. Append-only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import ledger, trend_states
from .connect import one, write
from .records import insert, is_there
from .times import to_text
from .who import Who


@dataclass(frozen=True)
class Rules:
    """rules: those of measure.rules that are on, in order, 1 always among them; average: the running mean too."""

    rules: tuple[int, ...] = (1, 2, 3, 4)
    average: bool = True


@dataclass(frozen=True)
class Chosen(Rules):
    """A choice as it is stored."""

    reason: str = ""
    person_name: str = ""
    made_at: str = ""


EVERYTHING = Rules()
"""What counts until a lead has chosen."""


def add_choice(db: Database, choice_id: str, rules: Rules, reason: str, who: Who, now: datetime) -> None:
    """Store it once. AlreadyThere: the id is taken, with other content. ValueError: without a reason or rule 1."""
    if not reason.strip() or 1 not in rules.rules:
        raise ValueError("it needs a reason, and the first rule")
    content = _content(rules, reason)
    with write(db):
        if is_there(db, "trend_rules", choice_id, content):
            return
        moment = to_text(now)
        by = {"person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": moment, "received_at": moment}
        insert(db, "trend_rules", {"id": choice_id, **content, **by})
        ledger.note(db, "trend rules chosen", "trend_rules", choice_id, now, who.person_id, who.tablet_id)
        trend_states.refresh_all(db)


def is_chosen(db: Database, choice_id: str, rules: Rules, reason: str) -> bool:
    """Whether this choice is stored. AlreadyThere: the id is taken, with other content."""
    return is_there(db, "trend_rules", choice_id, _content(rules, reason))


def _content(rules: Rules, reason: str) -> dict:
    return {"rules": "".join(map(str, sorted(rules.rules))), "average": int(rules.average), "reason": reason}


def current(db: Database) -> Rules:
    """What is listened for now."""
    row = one(db, "SELECT rules, average FROM trend_rules ORDER BY made_at DESC, rowid DESC LIMIT 1")
    return Rules(tuple(map(int, row["rules"])), bool(row["average"])) if row else EVERYTHING


def list_choices(db: Database) -> list[Chosen]:
    """Every choice, newest first."""
    rows = db.query(
        "SELECT t.*, p.name AS person_name FROM trend_rules t JOIN person p ON p.id = t.person_id"
        " ORDER BY t.made_at DESC, t.rowid DESC"
    )
    return [
        Chosen(
            tuple(map(int, row["rules"])), bool(row["average"]), row["reason"], row["person_name"], row["made_at"]
        )  # fmt: skip
        for row in rows
    ]
