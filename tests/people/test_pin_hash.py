"""A PIN is kept as an argon2id hash of the library's recommended cost, never as itself."""

import subprocess
import sys

import pytest
from argon2 import PasswordHasher, Type, extract_parameters

from tests.support.roastery import PINS
from webapp.store import people


def test_it_hashes_with_argon2id_at_the_librarys_cost():
    """In a process of its own: the tests use a cheaper hash."""
    script = "from webapp.store.people import hash_pin; print(hash_pin('271828'))"
    made = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout.strip()
    found, usual = extract_parameters(made), PasswordHasher()
    assert found.type == Type.ID
    assert (found.memory_cost, found.time_cost) == (usual.memory_cost, usual.time_cost)
    # OWASP's password storage cheat sheet, from memory: at least 19 MiB with two passes.
    assert found.memory_cost >= 19 * 1024
    assert found.time_cost >= 2


def test_it_gives_equal_pins_different_hashes(bench):
    people.add_person(bench.db, "Mira", "roaster", PINS["roaster"], bench.who("lead"), bench.now)
    hashes = [row["pin_hash"] for row in bench.db.query("SELECT pin_hash FROM person")]
    assert len(set(hashes)) == 4


def test_it_never_keeps_the_pin_itself(bench):
    values = {str(v) for table in bench.db.tables for row in table.rows for v in row.values()}
    assert "Ravi" in values
    assert not values & set(PINS.values())


@pytest.mark.parametrize("pin", ["", "12345", "1234567", "12345a", "١٢٣٤٥٦", "27182\n"])
def test_it_stores_nothing_but_six_digits(bench, pin):
    with pytest.raises(ValueError, match="six digits"):
        people.add_person(bench.db, "Mira", "roaster", pin, bench.who("lead"), bench.now)
    with pytest.raises(ValueError, match="six digits"):
        people.set_pin(bench.db, bench.people["roaster"], pin, bench.who("lead"), bench.now)


def test_it_takes_a_damaged_hash_for_a_wrong_pin(bench):
    bench.db.conn.execute("UPDATE person SET pin_hash = 'damaged' WHERE id = ?", (bench.people["roaster"],))
    assert not people.pin_matches(bench.db, bench.people["roaster"], PINS["roaster"])
