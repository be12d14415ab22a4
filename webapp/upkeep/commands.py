"""The commands of a server's upkeep: `flask backup`, `flask try-restore`, `flask restore`, `flask status`."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import click
from flask import Flask, current_app
from flask.cli import with_appcontext

from webapp.store import backups, connect, ledger, migrations, results, serving, times, upkeep
from webapp.store.errors import WrongSchema
from webapp.store.site import get_site
from webapp.upkeep import state
from webapp.upkeep.words import said_of

HOOK_S = 3600
MARK = {"fine": "ok  ", "look": "look", "act": "ACT "}


def folder_of_copies() -> Path:
    """Where copies go: the setting, or `backups` beside the database."""
    config = current_app.config
    return Path(config["BACKUPS"] or Path(config["DATABASE"]).parent / "backups")


@click.command("backup")
@click.option("--folder", help="Where to; otherwise DRUMSIDE_BACKUPS, or `backups` beside the database.")
@click.option("--keep-all", is_flag=True, help="Do not thin out older copies.")
@with_appcontext
def backup(folder: str | None, keep_all: bool) -> None:
    """Copy the database while it is in use, look through the copy, and thin out older ones."""
    path, where = current_app.config["DATABASE"], Path(folder) if folder else folder_of_copies()
    try:
        copy = backups.make(path, where, times.now())
    except FileNotFoundError:
        raise click.ClickException(f"there is no database at {path}") from None
    except (backups.BadCopy, OSError, connect.sqlite3.Error, WrongSchema) as problem:
        _keep("backup", False, said=str(problem))
        raise click.ClickException(str(problem)) from None
    click.echo(f"{copy.path}: {copy.size} bytes, {copy.lines} lines of the ledger, newest hash {copy.newest}")
    click.echo(f"Made and looked through in {copy.seconds:.1f} s.")
    for gone in [] if keep_all else backups.thin_out(where):
        click.echo(f"No longer kept: {gone.name}")
    if problem := _bring_elsewhere(copy.path):
        _keep("backup", False, copy.lines, problem)
        raise click.ClickException(problem)
    _keep("backup", True, copy.lines, copy.path.name)


def _bring_elsewhere(path: Path) -> str:
    """Hand the copy to the program that brings it off this machine; what went wrong, or nothing."""
    program = current_app.config["AFTER_BACKUP"]
    if not program:
        return ""
    try:
        done = subprocess.run([program, str(path)], capture_output=True, text=True, timeout=HOOK_S, check=False)
    except (OSError, subprocess.TimeoutExpired) as problem:
        return f"{program} did not run: {problem}"
    if done.returncode:
        return f"{program} ended with {done.returncode}: {(done.stderr or done.stdout).strip()[-300:]}"
    return ""


def _keep(what: str, well: bool, lines: int | None = None, said: str = "") -> None:
    """Note a chore, if there is a bench that can take the note: its damage must not hide what is said of it."""
    try:
        db = connect.connect(current_app.config["DATABASE"])
        try:
            upkeep.note_chore(db, what, well, times.now(), lines, said)
        finally:
            db.close()
    except (OSError, connect.sqlite3.Error) as problem:
        click.echo(f"This could not be noted: {problem}", err=True)


@click.command("try-restore")
@click.argument("file", required=False)
@with_appcontext
def try_restore(file: str | None) -> None:
    """Put a copy (the newest) back in a place of its own, and look at every record and result in it."""
    copies = backups.list_copies(folder_of_copies())
    if not file and not copies:
        raise click.ClickException("there is no copy yet: run `flask backup` first")
    copy = Path(file) if file else copies[0][1]
    with tempfile.TemporaryDirectory(prefix="drumside-trial-") as room:
        trial = Path(room) / "trial.sqlite"
        try:
            backups.restore(copy, trial, times.now())
            faults, lines = _all_faults(trial)
        except backups.BadCopy as problem:
            faults, lines = problem.faults, None
    _keep("trial", not faults, lines, "; ".join(faults[:3]) or copy.name)
    for fault in faults:
        click.echo(fault)
    if faults:
        raise click.ClickException(f"{copy} is not what it should be: {len(faults)} found")
    click.echo(f"{copy} was put back elsewhere: {lines} lines, every record and every result as it was written.")


def _all_faults(path: Path) -> tuple[list[str], int]:
    db = connect.connect(path)
    try:
        found = [*ledger.faults(db), *(f"{what} differs" for what in results.rebuild(db))]
        return found, ledger.head(db)[0]
    finally:
        db.close()


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@with_appcontext
def restore(file: Path) -> None:
    """Put the copy FILE in the place of the database. The server must be stopped; the old file stays beside it."""
    try:
        done = backups.restore(file, current_app.config["DATABASE"], times.now())
    except serving.InUse:
        raise click.ClickException("the server is running: stop it first") from None
    except (backups.BadCopy, WrongSchema, OSError) as problem:
        raise click.ClickException(str(problem)) from None
    click.echo(f"Restored: {done.copy.lines} lines of the ledger, newest hash {done.copy.newest}")
    if done.applied:
        click.echo(f"Brought up to date: {', '.join(done.applied)}")
    if done.before:
        click.echo(f"The file that was there before: {done.before}")
    click.echo("Everybody is signed out. What tablets have not sent yet comes by itself.")


@click.command("status")
@with_appcontext
def status() -> None:
    """Say how the server is. Exit 1 if something has to be done."""
    path = current_app.config["DATABASE"]
    try:
        db = connect.connect(path)
    except FileNotFoundError:
        raise click.ClickException(f"there is no database at {path}: run `flask migrate` first") from None
    try:
        migrations.require_current(db)
        with current_app.test_request_context():
            lines = state.gather(db, place(), datetime.now(UTC))
            for line in lines:
                said = said_of(line, get_site(db))
                click.echo(f"{MARK[line.how]}  {said.title}: {said.text}{' ' + said.advice if said.advice else ''}")
    except WrongSchema as problem:
        raise click.ClickException(str(problem)) from None
    finally:
        db.close()
    if any(line.how == "act" for line in lines):
        sys.exit(1)


def place() -> state.Place:
    """Where this bench lies, from its settings."""
    config = current_app.config
    hosts = config.get("TRUSTED_HOSTS") or [None]
    return state.Place(
        Path(config["DATABASE"]),
        folder_of_copies(),
        config["BUILD"],
        hosts[0] if config["SECURE_COOKIES"] else None,
        config["AUTHORITY"],
    )


def init_app(app: Flask) -> None:
    """Add the commands."""
    for command in (backup, try_restore, restore, status):
        app.cli.add_command(command)
