"""Many guesses at once, from several processes, get no more verifications than one after the other."""

import multiprocessing
from datetime import UTC, datetime
from pathlib import Path

from tests.support.roastery import PINS
from webapp.store import connect, pin_guard


def guess_many(path: Path, person: str, tablet: str, log: Path, start) -> None:
    """Fifty guesses as fast as they go; every real verification leaves a mark."""
    really = pin_guard.pin_matches

    def watched(*args):
        with open(log, "a") as marks:
            marks.write("x")
        return really(*args)

    pin_guard.pin_matches = watched
    db = connect.connect(path)
    start.wait()
    for n in range(50):
        assert not pin_guard.check_pin(db, person, tablet, f"80817{n % 10}", datetime.now(UTC)).ok
    db.close()


def test_it_verifies_at_most_five_of_two_hundred_parallel_guesses(bench, path, tmp_path):
    log = tmp_path / "verified"
    log.touch()
    fresh = multiprocessing.get_context("spawn")
    start = fresh.Barrier(4)
    args = (path, bench.people["roaster"], bench.tablet, log, start)
    guessers = [fresh.Process(target=guess_many, args=args) for _ in range(4)]
    for guesser in guessers:
        guesser.start()
    for guesser in guessers:
        guesser.join(120)
    assert [guesser.exitcode for guesser in guessers] == [0, 0, 0, 0]
    assert 1 <= len(log.read_text()) <= 5
    outcome = pin_guard.check_pin(bench.db, bench.people["roaster"], bench.tablet, PINS["roaster"], datetime.now(UTC))
    assert not outcome.ok
    assert outcome.wait_seconds > 0
