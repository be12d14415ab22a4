"""A file of older batches that is being looked at, and one that was taken in."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

from tests.support.roastery import Roastery
from webapp.exchange import import_choices, import_file, import_page
from webapp.exchange.import_choices import Chosen
from webapp.store import imports

HEAD = "X-1;X-2;X-3;X-4;X-5;X-6"
ROWS = ("7-1;Lantern House;1.2.2026;12,35;56,2;61,25", "7-2;Lantern House;13.2.2026;12,4;55,9;60,75")
BAD = ("7-3;Lantern House;30.2.2026;12,35;56,2;61,25", "7-4;7-7;1.3.2026;12.35;156,2;")


def begin(bench: Roastery, *rows: str, name: str = "history.csv") -> str:
    """The id of a draft with everything chosen."""
    content = "\n".join([HEAD, *rows]).encode()
    opened, draft_id = import_file.open_file(content), str(uuid.uuid4())
    choices = import_choices.looked_at(bench.db, opened.content, opened.reading)
    columns = ("code", "product", "day", "green", "whole", "ground")
    choices |= {
        "columns": {str(no): target for no, target in enumerate(columns)}, "units": {"3": "kg"},
        "styles": {"2": "dmy.", "3": "comma", "4": "comma", "5": "comma"},
        "averages": {"whole": False, "ground": True}, "meters": dict.fromkeys(("whole", "ground"), bench.meter),
        "methods": {kind: version.id for kind, version in bench.versions.items()}, "machine": bench.machine,
        "time": "07:00", "products": {"7-7": "-"},
    }  # fmt: skip
    imports.add_draft(bench.db, draft_id, name, opened.content, choices, bench.who("lead"), bench.now)
    return draft_id


def take_in(bench: Roastery, *rows: str, name: str = "history.csv") -> str:
    """The id of a file that was taken in."""
    draft = imports.get_draft(bench.db, begin(bench, *(rows or ROWS), name=name))
    chosen, now = Chosen(draft.choices), datetime.now(UTC)
    found = import_page.preview(draft, chosen, bench.db, "Europe/Vienna", now, 1)
    new = imports.NewRun(draft.id, name, "0" * 64, import_choices.kept(chosen), import_choices.ways(chosen))
    judged = import_page.judged(draft, chosen, bench.db, "Europe/Vienna", now)
    imports.take_in(bench.db, new, (row for _row, row, *_rest in judged), found.counts, bench.who("lead"), bench.now)
    return draft.id
