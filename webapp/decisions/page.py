"""What the pages of decisions show, gathered from the store."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from flask import g, request, url_for
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.store import countersigns, decisions, gear, results, times, waiting
from webapp.store.batches import Batch
from webapp.store.decisions import Decision
from webapp.store.waiting import Entry
from webapp.ui import decision_words, verdict_words
from webapp.ui.access import at_least
from webapp.ui.decision_form import DecisionForm
from webapp.ui.filters import day_and_clock
from webapp.ui.forms import BaseForm
from webapp.ui.hands_words import read_by
from webapp.ui.verdict_words import Words

PAGE = 100
# What is in band and was not released within these days is of no use in a list.
READY_DAYS = 14


@dataclass(frozen=True)
class Row:
    """A batch of a list: where it leads, what it is, how it reads, why it waits ("" if it does not), and what was
    decided last ("" for nothing that is not said already). decision_id: for releasing it from the list."""

    url: str
    batch_id: str
    code: str
    product: str
    when: str
    words: Words
    why: str
    why_word: str
    last: str
    decision_id: str


@dataclass(frozen=True)
class Choice:
    """A reason to wait that the list can be narrowed to: its words, how many, its address, whether it is chosen."""

    text: str
    count: int
    url: str
    here: bool


class ReleaseForm(BaseForm):
    """Ticks in a list: only the token is a field."""


def waiting_page(db: Database, problems: Collection[str] = (), ticked: Collection[str] = ()) -> dict:
    """Everything for the list of what waits. problems: why a release from it was refused; ticked: ids still ticked."""
    counts = waiting.count_waiting(db)
    why = request.args.get("why") if request.args.get("why") in counts else None
    total = counts[why] if why else sum(counts.values())
    pages = max(1, -(-total // PAGE))
    no = min(max(1, request.args.get("page", 1, type=int)), pages)
    since = date.fromisoformat(times.local_day(g.now, g.site.time_zone)) - timedelta(days=READY_DAYS - 1)
    ready, ready_count = waiting.list_ready(db, since.isoformat(), PAGE)
    rows = Rows(db)
    return {
        "rows": rows.of(waiting.list_waiting(db, why, (no - 1) * PAGE, PAGE)),
        "all": sum(counts.values()), "total": total, "first": (no - 1) * PAGE + 1, "choices": choices(counts, why),
        "before": address(why, no - 1) if no > 1 else "", "after": address(why, no + 1) if no < pages else "",
        "ready": rows.of(ready), "ready_count": ready_count, "days": READY_DAYS,
        "form": ReleaseForm(formdata=None) if at_least("roaster") else None,
        "problems": problems, "ticked": ticked, "released": request.args.get("released", 0, type=int),
    }  # fmt: skip


def address(why: str | None, no: int = 1) -> str:
    """The list, narrowed to a reason, at a page."""
    return url_for("decisions.waiting", why=why, page=no if no > 1 else None)


def choices(counts: dict[str, int], why: str | None) -> list[Choice]:
    """All, and each reason that there is; none where there is only one."""
    if len(counts) < 2:
        return []
    found = [Choice(_("All"), sum(counts.values()), address(None), why is None)]
    return found + [Choice(decision_words.why_word(w), n, address(w), w == why) for w, n in counts.items()]


class Rows:
    """Makes rows of batches; what they share is fetched once."""

    def __init__(self, db: Database) -> None:
        self.db = db
        self.steps: dict[str, float] = {}

    def of(self, entries: Iterable[Entry]) -> list[Row]:
        """One row for each, in order."""
        return [self.row(entry) for entry in entries]

    def row(self, entry: Entry) -> Row:
        """One batch."""
        last, words = decisions.last_decision(self.db, entry.batch_id), self.words(entry.batch_id)
        return Row(
            url_for("bench.result", batch_id=entry.batch_id), entry.batch_id, entry.code, entry.product_name,
            day_and_clock(entry.roasted_at), words, self.why(entry, words, last),
            decision_words.why_word(entry.why) if entry.why else "",
            decision_words.said(last) if last else "", str(uuid.uuid4()),
        )  # fmt: skip

    def words(self, batch_id: str) -> Words:
        """How it reads."""
        parts = results.get_parts(self.db, batch_id)
        steps = {kind: self.step(part.scale_id) for kind, part in parts.items()}
        return verdict_words.batch_words(results.get_batch_result(self.db, batch_id), parts, steps)

    def step(self, scale_id: str) -> float:
        """A scale's resolution, in scale units."""
        if scale_id not in self.steps:
            self.steps[scale_id] = gear.get_scale(self.db, scale_id).step / 100
        return self.steps[scale_id]

    def why(self, entry: Entry, words: Words, last: Decision | None) -> str:
        """Why it waits, in a plain sentence."""
        match entry.why:
            case None:
                return ""
            case "hands":
                who = read_by(countersigns.waiting_samples(self.db, entry.batch_id))
                return _("Waits for a countersignature: %(what)s.", what=who)
            case "meter":
                return words.mark
            case "changed":
                before = decision_words.verdict_word(last.verdict)
                return _("When that was decided, it read: %(before)s.", before=before)
        return words.reason


def reason_page(db: Database, form: DecisionForm, batch: Batch) -> dict:
    """Everything for the page that asks why."""
    what = form.what.data or ""
    last = decisions.last_decision(db, batch.id)
    return {
        "form": form, "batch": batch, "title": decision_words.title(what, batch.code),
        "button": decision_words.asked(what), "overtaken": "", "may": True,
        "supersedes": decision_words.said(last) if last and not last.reread else "",
    }  # fmt: skip
