"""The command that gives a site's part to a group of roasteries."""

from __future__ import annotations

from pathlib import Path

import click
from flask import Flask, current_app
from flask.cli import with_appcontext

from webapp.exchange import group
from webapp.store import connect, migrations
from webapp.store.errors import WrongSchema


@click.command("export-group")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--site", required=True, help="This bench's name in the group: letters, digits, - and _.")
@with_appcontext
def export_group(folder: Path, site: str) -> None:
    """Add what has changed to FOLDER, as Parquet by site and month, for comparing several roasteries."""
    path = current_app.config["DATABASE"]
    try:
        db = connect.connect(path)
    except FileNotFoundError:
        raise click.ClickException(f"there is no database at {path}: run `flask migrate` first") from None
    try:
        migrations.require_current(db)
        done = group.export(db, folder, site)
    except ValueError:
        raise click.BadParameter("letters, digits, - and _ only", param_hint="--site") from None
    except WrongSchema as problem:
        raise click.ClickException(str(problem)) from None
    finally:
        db.close()
    for file in done.written:
        click.echo(str(file.relative_to(folder)))
    click.echo(f"Files added: {len(done.written)}. Months as they were: {done.unchanged}.")


def init_app(app: Flask) -> None:
    """Add the command."""
    app.cli.add_command(export_group)
