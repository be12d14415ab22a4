"""Commands for whoever looks after the server: `flask --app webapp COMMAND`.

They reach the database file itself, so they work when nobody can sign in.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import BinaryIO

import click
from flask import Flask, current_app, g
from flask.cli import with_appcontext
from sqlite_utils import Database

from webapp.people import service
from webapp.people.pins import pin_fault
from webapp.people.zones import find_zone, guess_zone
from webapp.store import checks, codes, ledger, migrations, pin_guard, results, times, upkeep
from webapp.store.connect import connect, write
from webapp.store.errors import WrongSchema
from webapp.store.people import Person, anybody, find_by_name, set_pin
from webapp.store.sessions import all_tablets
from webapp.store.site import get_site
from webapp.store.who import SYSTEM
from webapp.sync import file as waiting_file
from webapp.sync.service import Sender


@contextmanager
def opened() -> Iterator[Database]:
    """The database, migrated; a plain sentence and exit 1 when it is not there or not up to date."""
    path = current_app.config["DATABASE"]
    try:
        db = connect(path)
    except FileNotFoundError:
        raise click.ClickException(f"there is no database at {path}: run `flask migrate` first") from None
    try:
        migrations.require_current(db)
        yield db
    except WrongSchema as problem:
        raise click.ClickException(str(problem)) from None
    finally:
        db.close()


def somebody(db: Database, name: str) -> Person:
    """The active person of this name, letter case aside."""
    person = find_by_name(db, name)
    if person is None:
        raise click.ClickException(f"nobody who works here is called {name}")
    return person


def ask_for_pin(name: str) -> str:
    """Six digits, typed twice and not shown, until they are fit."""
    while True:
        pin = click.prompt(f"PIN for {name} (six digits, not shown)", hide_input=True, confirmation_prompt="Again")
        fault = pin_fault(pin)
        if fault is None:
            return pin
        click.echo(str(fault))


def server_address() -> str:
    """Where browsers find this server, as far as the settings say."""
    hosts = current_app.config.get("TRUSTED_HOSTS") or ["<this server>"]
    scheme = "https" if current_app.config["SECURE_COOKIES"] else "http"
    return f"{scheme}://{hosts[0]}"


@click.command("migrate")
@with_appcontext
def migrate() -> None:
    """Make the database, or bring it up to date. On an empty bench, print a one-time set-up code."""
    try:
        applied = migrations.migrate(current_app.config["DATABASE"])
    except WrongSchema as problem:
        raise click.ClickException(str(problem)) from None
    click.echo(f"Applied: {', '.join(applied)}" if applied else "The database is up to date.")
    with opened() as db:
        if anybody(db):
            return
        code = codes.make_code(db, "setup", SYSTEM, times.now())
    click.echo("Nobody works at this bench yet. Within 24 hours, on the first tablet, open")
    click.echo(f"    {server_address()}/setup")
    click.echo(f"and type the code    {code.text}")
    click.echo("Or make the first lead here: flask first-lead NAME. A new code: flask migrate.")


@click.command("first-lead")
@click.argument("name")
@click.option("--site", prompt="Name of the roastery", help="Name of the roastery.")
@click.option("--zone", default=lambda: guess_zone() or None, prompt="Time zone", help="Such as Europe/Lisbon.")
@with_appcontext
def first_lead(name: str, site: str, zone: str) -> None:
    """Make the site and its first lead, NAME. Only while there is nobody."""
    with opened() as db:
        if anybody(db):
            raise click.ClickException("there are people already: a lead adds others under Settings, People")
        known = find_zone(zone)
        if known is None:
            raise click.ClickException(f"there is no time zone called {zone}")
        if not (0 < len(name.strip()) <= 60 and 0 < len(site.strip()) <= 60):
            raise click.ClickException("a name has 1 to 60 characters")
        try:
            service.first_lead(db, site.strip(), known, name.strip(), ask_for_pin(name), times.now())
        except service.Closed:
            raise click.ClickException("somebody else made the first lead meanwhile") from None
    click.echo(f"{name} is the first lead. Next, a code for the first tablet: flask enrol-code")


@click.command("enrol-code")
@with_appcontext
def enrol_code() -> None:
    """Print a code that enrols one tablet, good for ten minutes."""
    with opened() as db:
        if not anybody(db):
            raise click.ClickException("nobody works here yet: run `flask migrate` or `flask first-lead` first")
        code = codes.make_code(db, "enrol", SYSTEM, times.now())
    click.echo(f"On the tablet, open {server_address()}/enrol and type    {code.text}    within ten minutes.")


@click.command("unlock-pin")
@click.argument("name", required=False)
@click.option("--all", "everything", is_flag=True, help="Lift every wait: people, tablets and codes.")
@with_appcontext
def unlock_pin(name: str | None, everything: bool) -> None:
    """Let NAME try a PIN again at once; with --all, everybody on every tablet."""
    if bool(name) == everything:
        raise click.UsageError("say whose PIN, or --all")
    with opened() as db:
        if everything:
            click.echo(f"Lifted: {pin_guard.forget_all(db)}")
            return
        person = somebody(db, name)
        pin_guard.unlock_person(db, person.id, SYSTEM, times.now())
    click.echo(f"{person.name} can try again now.")


@click.command("new-pin")
@click.argument("name")
@with_appcontext
def new_pin(name: str) -> None:
    """Set a new PIN for NAME: for a lead who forgot it and has no other lead to ask."""
    with opened() as db:
        person = somebody(db, name)
        set_pin(db, person.id, ask_for_pin(person.name), SYSTEM, times.now())
        pin_guard.unlock_person(db, person.id, SYSTEM, times.now())
    click.echo(f"{person.name} has a new PIN, and is signed out everywhere.")


@click.command("check")
@with_appcontext
def check() -> None:
    """Say everything in the database that is not as it was written. Exit 1 if there is anything."""
    with opened() as db:
        faults, first = 0, ""
        for fault in ledger.faults(db):
            click.echo(fault)
            faults += 1
            first = first or fault
        lines, newest = ledger.head(db)
        upkeep.note_chore(db, "check", not faults, times.now(), lines, first)
    click.echo(f"Ledger: {lines} lines, newest hash {newest}")
    click.echo("Keep a copy of this hash elsewhere: it shows later whether the whole ledger was rewritten.")
    if faults:
        click.echo(f"{faults} found.")
        sys.exit(1)
    click.echo("Everything is as it was written.")


@click.command("rebuild-results")
@click.option("--write", "keep", is_flag=True, help="Keep what was worked out. Without it nothing is changed.")
@with_appcontext
def rebuild_results(keep: bool) -> None:
    """Work out every result again from the readings, and say how many differ from what is stored.

    Exit 1 if any differs and --write is not given: a result that cannot be rebuilt is a fault.
    """
    with opened() as db, write(db):
        changed = checks.rebuild(db, store=keep) + results.rebuild(db, store=keep)
        if keep and changed and get_site(db):
            # Pages are kept in memory until the ledger moves on.
            ledger.note(db, "results rebuilt", "site", "1", times.now(), None, None)
    for what in changed:
        click.echo(f"{what} differs")
    click.echo(f"Results that differ: {len(changed)}{' (now stored)' if keep and changed else ''}")
    if changed and not keep:
        sys.exit(1)


@click.command("take-in")
@click.argument("file", type=click.File("rb"))
@click.option("--tablet", "tablet_name", required=True, help="Name of the tablet that the file came from.")
@click.option("--by", "name", required=True, help="Who takes it in. It is kept beside who captured.")
@with_appcontext
def take_in(file: BinaryIO, tablet_name: str, name: str) -> None:
    """Take in a FILE of waiting records that a tablet saved. Again does no harm. Exit 1 if something was not stored.

    Decisions are left out: take the file in on a tablet, where their person can enter a PIN.
    """
    with opened() as db:
        tablet = next((one for one in all_tablets(db) if one.name.casefold() == tablet_name.casefold()), None)
        if tablet is None:
            raise click.ClickException(f"no tablet is called {tablet_name}")
        try:
            records = waiting_file.read(file.read())
        except waiting_file.NotOurFile as problem:
            raise click.ClickException(str(problem)) from None
        sender = Sender(somebody(db, name).id, tablet.id, confirmed=False)
        # The forms read days and clocks in the site's time zone, and the answers name addresses.
        with current_app.test_request_context():
            g.site = get_site(db)
            answers = list(waiting_file.take(db, current_app.extensions["records"], records, sender, times.now()))
    for answer in answers:
        if not answer["stored"]:
            said = " ".join(str(problem["message"]) for problem in answer["problems"])
            click.echo(f"not stored: {answer['kind']} {answer['id']}: {said}")
    stored = sum(answer["stored"] for answer in answers)
    click.echo(f"Stored, now or before: {stored} of {len(answers)}.")
    if stored < len(answers):
        sys.exit(1)


def init_app(app: Flask) -> None:
    """Add the commands."""
    for command in (migrate, first_lead, enrol_code, unlock_pin, new_pin, check, rebuild_results, take_in):
        app.cli.add_command(command)
