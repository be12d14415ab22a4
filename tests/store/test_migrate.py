"""One schema, reached by migrations: under a lock, after a copy, all or nothing."""

import ast
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.store import plain, write_schema
from webapp.assemble import check_schema
from webapp.store import (
    connect,
    ledger,
    migrations,
    schema_0001,
    schema_0002,
    schema_0003,
    schema_0004,
    schema_0005,
    schema_0006,
    schema_0007,
    schema_steps,
)
from webapp.store.errors import WrongSchema
from webapp.store.triggers import wanted

ROOT = Path(__file__).resolve().parents[2]


def names(path):
    """The file's tables, read by a process of its own."""
    return {row[0] for row in plain.force(path, "SELECT name FROM sqlite_master WHERE type = 'table'")}


@pytest.fixture
def next_version(monkeypatch):
    """next_version(fn) adds a migration `9001_test` to the software."""

    def add(fn):
        later = [*migrations.migrations._migrations]
        monkeypatch.setattr(migrations.migrations, "_migrations", later)
        migrations.migrations(name="9001_test")(fn)

    return add


def test_it_gives_the_schema_that_is_committed():
    """If this fails after a new migration: look at the difference, then run tests/store/write_schema.py."""
    assert write_schema.schema() == write_schema.FILE.read_text(encoding="utf-8")


def test_it_does_nothing_the_second_time(tmp_path):
    path = tmp_path / "bench.db"
    assert migrations.migrate(path) == [m.name for m in migrations.migrations._migrations]
    before = path.read_bytes()
    assert migrations.migrate(path) == []
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bench.db", "bench.db.migrating"]
    assert names(path) == names_in(before, tmp_path)


def names_in(content, folder):
    """The tables in the bytes of a database file."""
    copy = folder / "copy.db"
    copy.write_bytes(content)
    return names(copy)


def test_it_makes_the_folder_of_a_new_bench(tmp_path):
    migrations.migrate(tmp_path / "data" / "bench.db")
    assert (tmp_path / "data" / "bench.db").stat().st_size > 0


AT_ONCE = """
import sys, time
from webapp.store import connect, migrations

@migrations.migrations(name="9001_test")
def slow(db):
    db.conn.execute("CREATE TABLE made_once (id INTEGER PRIMARY KEY) STRICT")
    time.sleep(0.2)

print(len(migrations.migrate(sys.argv[1])))
"""


@pytest.mark.parametrize("there", [False, True], ids=["a new file", "a file in use"])
def test_it_does_no_harm_when_four_start_at_once(tmp_path, templates, there):
    path = tmp_path / "bench.db"
    if there:
        shutil.copy(templates["roastery"], path)
    starters = [
        subprocess.Popen([sys.executable, "-c", AT_ONCE, path], cwd=ROOT, stdout=subprocess.PIPE, text=True)
        for _ in range(4)
    ]
    said = sorted(int(starter.communicate(timeout=60)[0]) for starter in starters)
    assert [starter.returncode for starter in starters] == [0] * 4
    pending = 1 if there else len(migrations.migrations._migrations) + 1
    assert said == [0, 0, 0, pending]
    assert plain.force(path, "SELECT count(*) FROM _sqlite_migrations WHERE name = '9001_test'") == [[1]]
    assert plain.force(path, "PRAGMA integrity_check") == [["ok"]]
    assert (tmp_path / "bench.db.before-9001_test").exists() is there


def test_it_leaves_a_failed_migration_pending_and_the_file_as_it_was(path, next_version, monkeypatch):
    def half(db):
        db.conn.execute("CREATE TABLE half (id TEXT PRIMARY KEY) STRICT")
        db.conn.execute("ALTER TABLE batch ADD COLUMN half TEXT")
        db.conn.execute("INSERT INTO half VALUES ('1')")
        raise ArithmeticError("the power went out")

    before = plain.force(path, "SELECT name, sql FROM sqlite_master ORDER BY name")
    next_version(half)
    with pytest.raises(ArithmeticError):
        migrations.migrate(path)
    assert plain.force(path, "SELECT name, sql FROM sqlite_master ORDER BY name") == before
    db = connect.connect(path)
    with pytest.raises(WrongSchema, match="9001_test"):
        migrations.require_current(db)
    monkeypatch.undo()  # back to the version before
    migrations.require_current(db)
    assert list(ledger.faults(db)) == []
    db.close()


KILLED = """
import os, signal, sys
from webapp.store import migrations

@migrations.migrations(name="9001_test")
def half(db):
    db.conn.execute("CREATE TABLE half (id TEXT PRIMARY KEY) STRICT")
    db.conn.execute("DROP TABLE pin_guard")
    os.kill(os.getpid(), signal.SIGKILL)

migrations.migrate(sys.argv[1])
"""


def test_it_can_be_killed_half_way_and_started_again(path, next_version):
    before = names(path)
    killed = subprocess.run([sys.executable, "-c", KILLED, path], cwd=ROOT)
    assert killed.returncode == -signal.SIGKILL
    assert names(path) == before
    next_version(lambda db: db.conn.execute("CREATE TABLE whole (id TEXT PRIMARY KEY) STRICT"))
    assert migrations.migrate(path) == ["9001_test"]
    assert names(path) == before | {"whole"}
    db = connect.connect(path)
    assert list(ledger.faults(db)) == []
    db.close()


def test_it_keeps_a_copy_of_the_file_as_it_was_before_an_upgrade(path, next_version):
    before = plain.force(path, "SELECT seq, hash FROM ledger ORDER BY seq")
    next_version(lambda db: db.conn.execute("CREATE TABLE more (id TEXT PRIMARY KEY) STRICT"))
    migrations.migrate(path)
    copy = path.with_name("bench.db.before-9001_test")
    assert plain.force(copy, "PRAGMA integrity_check") == [["ok"]]
    assert plain.force(copy, "SELECT seq, hash FROM ledger ORDER BY seq") == before
    assert "more" in names(path)
    assert "more" not in names(copy)


def test_it_copies_what_is_there_now_not_what_an_earlier_attempt_found(bench, path, next_version):
    """The upgrade failed, the bench worked on for a week with the old version, then the upgrade is tried again."""
    again = iter((True, False))

    def fails_once(_db):
        if next(again):
            raise ArithmeticError

    next_version(fails_once)
    with pytest.raises(ArithmeticError):
        migrations.migrate(path)
    bench.batch("0514-99")
    bench.db.close()
    # A copy that was cut off half way must not stand in the way either.
    path.with_name("bench.db.before-9001_test.part").write_bytes(b"half a copy")
    migrations.migrate(path)
    copy = path.with_name("bench.db.before-9001_test")
    assert plain.force(copy, "SELECT code FROM batch") == [["0514-99"]]
    assert not path.with_name("bench.db.before-9001_test.part").exists()


def test_it_makes_the_triggers_anew_after_a_migration_that_rewrote_a_table(path, next_version):
    """A rewrite drops a table's triggers without a word (sqlite.org/lang_droptable.html)."""

    def rewrite(db):
        db.table("machine").transform(not_null={"name"})
        db.conn.execute("DROP TRIGGER reading_no_update")

    next_version(rewrite)
    migrations.migrate(path)
    there = {row[0] for row in plain.force(path, "SELECT name FROM sqlite_master WHERE type = 'trigger'")}
    assert there == set(wanted())


def test_it_refuses_a_database_from_a_newer_version_in_words(path, app):
    plain.force(
        path,
        "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('drumside', '0999_tomorrow', 'x')",
    )
    for attempt in (lambda: migrations.migrate(path), lambda: check_schema(app)):
        with pytest.raises(WrongSchema, match=r"newer version .*0999_tomorrow"):
            attempt()
    said = app.test_cli_runner().invoke(args=["migrate"])
    assert said.exit_code == 1
    assert "newer version" in said.output
    assert "Traceback" not in said.output


def test_it_lets_other_software_keep_migrations_in_the_same_file(path):
    plain.force(
        path, "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('another', '0999', 'x')"
    )
    assert migrations.migrate(path) == []


def test_it_makes_workers_refuse_a_file_that_is_not_migrated(tmp_path):
    path = tmp_path / "empty.db"
    connect.connect(path, create=True).close()
    settings = {"DRUMSIDE_DATABASE": str(path), "DRUMSIDE_SECRET_KEY": "tests only " * 4}
    said = subprocess.run(
        [sys.executable, "-c", "import webapp.wsgi"],
        env={**os.environ, **settings},
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert said.returncode != 0
    assert "run `flask migrate` first (pending: 0001_bench" in said.stderr.splitlines()[-1]
    assert names(path) == set()


def test_it_makes_workers_refuse_a_missing_file(tmp_path):
    path = tmp_path / "missing.db"
    settings = {"DRUMSIDE_DATABASE": str(path), "DRUMSIDE_SECRET_KEY": "tests only " * 4}
    said = subprocess.run(
        [sys.executable, "-c", "import webapp.wsgi"], env={**os.environ, **settings}, cwd=ROOT, capture_output=True
    )
    assert said.returncode != 0
    assert b"FileNotFoundError" in said.stderr
    assert not path.exists()


def test_it_makes_workers_refuse_a_file_whose_triggers_are_missing(path, app):
    check_schema(app)
    plain.force(path, "DROP TRIGGER reading_no_update")
    with pytest.raises(WrongSchema, match="reading_no_update"):
        check_schema(app)
    migrations.migrate(path)
    check_schema(app)


def test_it_needs_no_application_code():
    """A migration is frozen: code that it imported could change under it, and rewrite the past."""
    tree = ast.parse(Path(schema_steps.__file__).read_text())
    imported = {
        f"{'.' * node.level}{node.module or ''}:{alias.name}"
        for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) for alias in node.names
    }  # fmt: skip
    assert not any(isinstance(node, ast.Import) for node in ast.walk(tree))
    assert imported == {
        "__future__:annotations", "sqlite_utils:Database", "sqlite_utils:Migrations",
        # The frozen SQL, and how it says no.
        ".:schema_0001", ".:schema_0002", ".:schema_0003", ".:schema_0004", ".:schema_0005",
        ".:schema_0006",
        ".:schema_0007",
        ".errors:WrongSchema",
    }  # fmt: skip
    schemas = (schema_0001, schema_0002, schema_0003, schema_0004, schema_0005, schema_0006, schema_0007)
    for schema in schemas:
        frozen = ast.parse(Path(schema.__file__).read_text())
        code = [n for n in ast.walk(frozen) if isinstance(n, ast.Import | ast.ImportFrom | ast.Call | ast.JoinedStr)]
        assert not code, schema.__name__
    inside = [node for node in tree.body if isinstance(node, ast.FunctionDef) and node.decorator_list]
    assert inside, "no migration found"
    for migration in inside:
        used = {n.id for n in ast.walk(migration) if isinstance(n, ast.Name)} - {"db", "Database", "migrations"}
        frozen = {"_script", *(schema.__name__.rpartition(".")[2] for schema in schemas)}
        assert used <= frozen, f"{migration.name} uses {used}"
