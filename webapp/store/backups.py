"""Copies of a bench's file: made while it is in use, looked through, thinned out, and put back.

A copy counts only when it was opened and found whole. It is a file like the bench's own: any SQLite can read it.
"""

from __future__ import annotations

import os
import re
import shutil
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlite_utils import Database
from sqlite_utils.utils import sqlite3

from . import connect, ledger, migrations, serving
from .errors import WrongSchema
from .schema import schema_faults
from .site import get_site
from .times import to_text
from .triggers import trigger_faults

NAME = re.compile(r"bench-(\d{8}T\d{6}Z)\.sqlite")
STAMP = "%Y%m%dT%H%M%SZ"
# SQLite copies this many pages between two looks at the clock; the read lock is held throughout.
ALL_PAGES = -1


class BadCopy(RuntimeError):
    """A file that cannot be a bench's copy, or is not whole; `faults`: what is wrong, a sentence each."""

    def __init__(self, path: Path, faults: list[str]) -> None:
        super().__init__(f"{path} is not a whole copy of a bench: {'; '.join(faults[:5])}")
        self.faults = faults


@dataclass(frozen=True)
class Copy:
    """A copy that was found whole. lines, newest: the ledger's length and newest hash in it; size in bytes; seconds it
    took to make and to look through."""

    path: Path
    lines: int
    newest: str
    size: int
    seconds: float


@dataclass(frozen=True)
class Keep:
    """How many copies stay: the newest of each of the last `days` days, `weeks` weeks and `months` months that have
    one."""

    days: int = 14
    weeks: int = 8
    months: int = 24


USUAL = Keep()


def make(path: str | Path, folder: str | Path, now: datetime) -> Copy:
    """Copy the bench at `path` into `folder` while it is in use, look through the copy, and give it its name.

    What was acknowledged before the call is in it. A copy that was cut off or is not whole never has a copy's name.
    FileNotFoundError: no bench there. BadCopy: the copy is not whole, which means that the bench itself is damaged.
    """
    folder, began = Path(folder), time.monotonic()
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    final = folder / f"bench-{now.astimezone(UTC).strftime(STAMP)}.sqlite"
    part = folder / f".{final.name}.part"
    bench = connect.connect(path)
    try:
        lines, _newest = ledger.head(bench)
        _copy_pages(bench, part)
    finally:
        bench.close()
    found = look_through(part)
    if found.lines < lines:
        raise BadCopy(part, [f"it has {found.lines} lines of the ledger, the bench had {lines} before"])
    _settle(part, final)
    return Copy(final, found.lines, found.newest, final.stat().st_size, time.monotonic() - began)


def _copy_pages(bench: Database, part: Path) -> None:
    """Page for page, as of one moment; alone in one file (no journal beside it)."""
    part.unlink(missing_ok=True)
    target = sqlite3.connect(str(part))
    try:
        os.chmod(part, 0o600)
        bench.conn.backup(target, pages=ALL_PAGES)
        target.execute("PRAGMA journal_mode=DELETE")
    finally:
        target.close()


def _settle(part: Path, final: Path) -> None:
    """The file under its name, on the disk: both survive a power cut from here on."""
    with open(part, "rb") as written:
        os.fsync(written.fileno())
    os.replace(part, final)
    _sync_folder(final.parent)


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def look_through(path: str | Path) -> Copy:
    """Read a copy from end to end: SQLite's own check, foreign keys, triggers and tables, the ledger's chain.

    BadCopy names what is wrong. (Whether each record is as its line says is what `flask check` looks at.)
    """
    path, began = Path(path), time.monotonic()
    if not path.is_file():
        raise BadCopy(path, ["there is no such file"])
    db = _opened_to_read(path)
    try:
        faults = list(_faults(db))
        if faults:
            raise BadCopy(path, faults)
        lines, newest = ledger.head(db)
    except (sqlite3.DatabaseError, WrongSchema) as problem:
        raise BadCopy(path, [str(problem)]) from None
    finally:
        db.close()
    return Copy(path, lines, newest, path.stat().st_size, time.monotonic() - began)


def _opened_to_read(path: Path) -> Database:
    address = f"{path.resolve().as_uri()}?mode=ro"
    return connect.Bench(sqlite3.connect(address, uri=True), use_counts_table=False, execute_plugins=False)


def _faults(db: Database) -> Iterable[str]:
    for (said,) in db.conn.execute("PRAGMA integrity_check"):
        if said != "ok":
            yield said
    yield from ledger.orphans(db)
    if not any(migrations.migrations.applied(db)):
        yield "it is no bench's file"
        return
    migrations.refuse_newer(db)
    # A copy of an older bench has an older bench's tables: those are looked at when it has been brought up to date.
    if not list(migrations.migrations.pending(db)):
        yield from (f"trigger {name} is missing or changed" for name in trigger_faults(db))
        yield from (f"table or index {name} is not as it was made" for name in schema_faults(db))
    yield from ledger.chain_faults(db)


def list_copies(folder: str | Path) -> list[tuple[datetime, Path]]:
    """(When, file) of the copies in a folder, newest first; what has another name is none of our business."""
    folder = Path(folder)
    found = [(NAME.fullmatch(path.name), path) for path in folder.iterdir()] if folder.is_dir() else []
    dated = [(datetime.strptime(m[1], STAMP).replace(tzinfo=UTC), path) for m, path in found if m]
    return sorted(dated, reverse=True)


def thin_out(folder: str | Path, keep: Keep = USUAL) -> list[Path]:
    """Remove the copies that none of the three rules keeps; the newest always stays. Returns what was removed."""
    copies, kept = list_copies(folder), set()
    rules: tuple[tuple[int, Callable[[datetime], object]], ...] = (
        (keep.days, lambda at: at.date()),
        (keep.weeks, lambda at: at.isocalendar()[:2]),
        (keep.months, lambda at: (at.year, at.month)),
    )
    for count, span_of in rules:
        spans: dict[object, Path] = {}
        for at, path in copies:
            spans.setdefault(span_of(at), path)
        kept |= set(list(spans.values())[:count])
    kept |= {path for _at, path in copies[:1]}
    gone = [path for _at, path in copies if path not in kept]
    for path in gone:
        path.unlink(missing_ok=True)
    return gone


@dataclass(frozen=True)
class Restored:
    """What was put back, the schema steps it needed, and where the file that was there before lies now (None: there
    was none)."""

    copy: Copy
    applied: list[str]
    before: Path | None


def restore(copy: str | Path, path: str | Path, now: datetime) -> Restored:
    """Put a copy in the place of the bench at `path`, whose file stays beside it under another name.

    At every moment there is one whole bench under `path`, or the one that was there before: killed half way, do it
    again. Everybody is signed out. BadCopy: nothing was changed. serving.InUse: a server runs.
    """
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    with serving.alone(path):
        found = look_through(copy)
        fresh = path.with_name(f"{path.name}.restoring")
        _remove(fresh)
        shutil.copyfile(copy, fresh)
        os.chmod(fresh, 0o600)
        applied = migrations.migrate(fresh)
        _mark(fresh, now)
        before = _set_aside(path, now) if path.exists() else None
        _settle(fresh, path)
        _remove(path.with_name(f"{fresh.name}.migrating"))
    return Restored(found, applied, before)


def _mark(fresh: Path, now: datetime) -> None:
    """Say in the ledger that the file was put back, and end every session; then leave it alone in one file."""
    db = connect.connect(fresh)
    try:
        with connect.write(db):
            db.conn.execute("UPDATE session SET ended_at = ? WHERE ended_at IS NULL", (to_text(now),))
            if get_site(db):
                ledger.note(db, "restored from a copy", "site", "1", now, None, None)
        db.conn.execute("PRAGMA journal_mode=DELETE")
    finally:
        db.close()


def _set_aside(path: Path, now: datetime) -> Path:
    """Another name for the file that is there, its journal folded in; a journal that cannot be folded in is moved: it
    would be played into the file that comes in its place."""
    aside = path.with_name(f"{path.name}.before-restore-{now.astimezone(UTC).strftime(STAMP)}")
    try:
        db = connect.connect(path)
        db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        db.close()
    except sqlite3.DatabaseError:
        pass  # damaged: that may be why it is replaced
    _remove(aside)
    for ending in ("-wal", "-journal"):
        beside = path.with_name(path.name + ending)
        if beside.exists():
            os.replace(beside, aside.with_name(aside.name + ending))
    path.with_name(f"{path.name}-shm").unlink(missing_ok=True)
    os.link(path, aside)
    return aside


def _remove(path: Path) -> None:
    for ending in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
