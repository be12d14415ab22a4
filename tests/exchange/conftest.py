"""A bench on which a little has happened, with texts that a spreadsheet would run."""

from __future__ import annotations

import uuid

import pytest

from tests.support.roastery import Roastery, later
from webapp.store import batch_corrections, corrections, decisions, sample_moves

NASTY = ("=HYPERLINK(1)", "+1", "-2+3", "@SUM(A1)", "\t=1", "'quoted", 'a "b", c; d', "two\nlines", "Grüße ☕")


@pytest.fixture
def worked(bench: Roastery) -> Roastery:
    """Two batches on two days with samples, a correction, decisions with texts of all sorts."""
    first = bench.batch("0514-01")
    sample = bench.sample(first.id, "whole", [56.2, 56.3, 56.1], [56.4, 56.2, 56.3])
    bench.sample(first.id, "ground", [61.0, 61.2, 61.1], at=later(bench.now, minutes=4))
    bench.batch("0515-01", at=later(bench.now, minutes=60 * 24))
    corrections.add_correction(
        bench.db, str(uuid.uuid4()), sample.id, 1, 3, 5620, "Read the wrong digit.", bench.who(), bench.now
    )
    third = bench.batch("0514-02", at=later(bench.now, hours=24))
    moved = bench.sample(third.id, "ground", [60.0, 60.1], at=later(bench.now, hours=24))
    moment = later(bench.now, hours=25)
    sample_moves.add_move(bench.db, "m-1", moved.id, third.id, first.id, NASTY[0], bench.who(), moment)
    facts = {"lot": NASTY[1], "roasted_g": 10350, "drop_decicelsius": None}
    batch_corrections.add_batch_correction(bench.db, "b-1", first.id, facts, NASTY[2], bench.who(), moment)
    for no, text in enumerate(NASTY):
        decisions.add_decision(
            bench.db, str(uuid.uuid4()), first.id, "hold", text, bench.who(), later(bench.now, minutes=50 + no)
        )
    return bench
