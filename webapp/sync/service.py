"""Takes records from tablets, each exactly once, each by itself: one that is refused never holds up another."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.store import claims, people, times
from webapp.store.claims import Claim
from webapp.store.connect import write
from webapp.store.errors import NotFound
from webapp.store.who import Sent
from webapp.sync import envelope
from webapp.sync.envelope import Envelope
from webapp.ui.tablet_records import Handler, Refused, Registry, Standing, TabletRecord, invalid

# Clocks differ by seconds everywhere; from here on it is worth a note on the record.
CLOCK_SLACK = timedelta(minutes=1)
WAITS = ("no_batch", "no_claim")


@dataclass(frozen=True)
class Sender:
    """Whose session sends, from which tablet; `confirmed`: the PIN was entered within the last ten minutes."""

    person_id: str
    tablet_id: str
    confirmed: bool


def take_all(db: Database, registry: Registry, raws: list, sender: Sender, now: datetime) -> list[dict]:
    """Take every record of a list, in its order; the answers come in the same order.

    What waits for a batch or a claim that stands further down is tried again right after that.
    """
    answers: list[dict] = []
    waiting: dict[str, list[int]] = {}
    for index in range(len(raws)):
        answers.append({})
        again = [index]
        while again:
            at = again.pop(0)
            answers[at] = answer = take_one(db, registry, raws[at], sender, now)
            if answer["error"] in WAITS:
                waiting.setdefault(answer.pop("missing"), []).append(at)
            elif answer["stored"]:
                again += waiting.pop(answer["id"], [])
    return answers


def take_one(db: Database, registry: Registry, raw: object, sender: Sender, now: datetime) -> dict:
    """Take one record in a transaction of its own; what is said about it, as it goes into the answer."""
    said = {"id": envelope.named_id(raw), "status": 200, "stored": True, "error": None, "problems": [], "remarks": []}
    try:
        opened = envelope.read(raw, registry.handlers)
        with write(db):
            handler = registry.handlers[opened.kind]
            record = look_up(db, opened, sender, now)
            said["remarks"] = store_once(db, handler, record, now)
            said["result"] = handler.shown(db, record)
        return said
    except Refused as refused:
        return said | refusal(refused)
    except Exception:
        # One record that breaks something must not take the others with it; the tablet keeps it and tries again.
        logging.getLogger("drumside").exception("a record from a tablet could not be taken")
        text = _("The server could not take this. It is kept on the tablet and tried again.")
        return said | refusal(Refused(500, "broken", [("", text)]))


def store_once(db: Database, handler: Handler, record: TabletRecord, now: datetime) -> list[str]:
    """Store what is not there; let the same pass; refuse other content under the same number, and show both."""
    both = handler.versions(db, record)
    if both is None:
        return handler.store(db, record, now)
    ours, theirs = both
    if ours != theirs:
        text = _("Stored already, with other content. Nothing was overwritten.")
        raise Refused(409, "other_content", [("", text)], ours=ours, theirs=theirs)
    return []


def refusal(refused: Refused) -> dict:
    """A refusal as it goes into the answer."""
    said = {
        "status": refused.status,
        "stored": False,
        "error": refused.error,
        "problems": [{"field": name, "message": text} for name, text in refused.problems],
        "remarks": [],
    }
    if refused.error in WAITS:
        said["missing"] = refused.missing
    if refused.ours is not None:
        said |= {"ours": refused.ours, "theirs": refused.theirs}
    return said


def look_up(db: Database, opened: Envelope, sender: Sender, now: datetime) -> TabletRecord:
    """The record with its person and its claim, and whether that person's PIN stands behind it."""
    try:
        person = people.get_person(db, opened.person_id)
    except NotFound:
        raise invalid([("person_id", _("Whoever captured this is not known here."))]) from None
    claim = claim_of(db, opened)
    ahead = opened.made_at - now > CLOCK_SLACK
    sent = Sent(sender.person_id, opened.claim_id, times.to_text(opened.made_at) if ahead else None, opened.seq)
    return TabletRecord(
        opened.id, opened.kind, person, sender.tablet_id, times.to_text(min(opened.made_at, now)), sent,
        standing_of(db, opened, claim, sender, now), opened.form, opened.batch_id, opened.sample_kind,
    )  # fmt: skip


def claim_of(db: Database, opened: Envelope) -> Claim | None:
    """The claim under which it was made, if it names one. Refused if that is not there yet, or somebody else's."""
    if opened.claim_id is None:
        return None
    claim = claims.find_claim(db, opened.claim_id)
    if claim is None:
        text = _("The change of person that it was made under is not stored yet.")
        raise Refused(404, "no_claim", [("claim_id", text)], missing=opened.claim_id)
    if claim.person_id != opened.person_id:
        raise invalid([("claim_id", _("The claim is somebody else's."))])
    return claim


def standing_of(db: Database, opened: Envelope, claim: Claim | None, sender: Sender, now: datetime) -> Standing:
    """Whether the record may speak for its person: by their own session, or by a claim that their PIN has confirmed."""
    own = sender.person_id == opened.person_id
    if claim:
        if claims.proven_on(db, claim.id, sender.tablet_id, now):
            return "fresh"
        if claim.confirmed_at is None or not own:
            return "open_claim"
    if not own:
        return "somebody_else"
    return "fresh" if sender.confirmed else "signed_in"
