"""What `create_app` does, in order. Apart from webapp/__init__.py so that webapp.measure needs no Flask."""

from __future__ import annotations

import logging

from flask import Flask
from flask_babel import Babel
from flask_wtf.csrf import CSRFProtect
from jinja2 import StrictUndefined

from webapp import assets, cli, db, errors, headers
from webapp.bench import kit
from webapp.bench.practice_views import practice
from webapp.bench.tablet_batches import TabletBatches
from webapp.bench.tablet_countersigns import TabletCountersigns
from webapp.bench.tablet_decisions import TabletDecisions
from webapp.bench.tablet_samples import TabletSamples
from webapp.bench.views import bench
from webapp.blends.views import blends
from webapp.config import Config
from webapp.decisions.views import decisions
from webapp.exchange.views import exchange
from webapp.gear.tablet_checks import TabletChecks
from webapp.gear.tablet_grinders import TabletGrindChecks, TabletGrinderEvents
from webapp.gear.tablet_look_backs import TabletLookBacks
from webapp.gear.views import gear
from webapp.people.views import people
from webapp.shell.views import shell_pages
from webapp.store import connect, migrations
from webapp.strip.views import strip
from webapp.studies.tablet_comparisons import TabletComparisons
from webapp.studies.tablet_precision import TabletPrecision
from webapp.studies.views import studies
from webapp.sync import views as sync_views
from webapp.sync.outbox import outbox
from webapp.sync.views import sync
from webapp.targets.views import targets
from webapp.trends.views import trends
from webapp.ui import access, decision_words, filters
from webapp.ui.tablet_records import Registry

csrf = CSRFProtect()


def assemble(config: Config | None) -> Flask:
    """Build the app from `config`, or from the environment."""
    config = config or Config.from_environment()
    app = Flask("webapp", static_folder=None, template_folder="templates")
    app.config.update(settings(config))
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    serve_static(app)
    Babel(app, locale_selector=lambda: "en", default_translation_directories="translations")
    app.teardown_appcontext(db.leave_db)
    for part in (headers, errors, access, filters, decision_words, assets, cli):
        part.init_app(app)
    # After the guard: a page that says what is wrong with a form needs to know who is there.
    csrf.init_app(app)
    pages = (people, bench, practice, decisions, strip, targets, gear, studies, trends, exchange, blends)
    for blueprint in (*pages, sync, outbox, shell_pages):
        app.register_blueprint(blueprint)
    take_records_with(app)
    log_engine()
    return app


def take_records_with(app: Flask) -> None:
    """Hand to sync what the features make of each kind of record: neither knows the other."""
    handlers = {
        "batch": TabletBatches(),
        "sample": TabletSamples(),
        "decision": TabletDecisions(),
        "countersignature": TabletCountersigns(),
        "meter_check": TabletChecks(),
        "look_back_entry": TabletLookBacks(),
        "grinder_event": TabletGrinderEvents(),
        "grind_check": TabletGrindChecks(),
        "comparison_sample": TabletComparisons(),
        "precision_fill": TabletPrecision(),
    }
    sync_views.init_app(app, Registry(handlers, kit.make))
    # Its posts carry the token in a header and are refused as JSON: see sync/door.py.
    csrf.exempt(sync)


def settings(config: Config) -> dict:
    """Flask's own settings and its extensions', from ours."""
    return {
        "DATABASE": config.database,
        "SECRET_KEY": config.secret_key,
        "SECURE_COOKIES": config.secure_cookies,
        "TESTING": config.testing,
        "WORKER": config.worker,
        "SESSION_COOKIE_NAME": "__Host-form" if config.secure_cookies else "form",
        "SESSION_COOKIE_SECURE": config.secure_cookies,
        "SESSION_COOKIE_HTTPONLY": True,
        "SESSION_COOKIE_SAMESITE": "Lax",
        # A tablet may stay on one form for a whole shift.
        "WTF_CSRF_TIME_LIMIT": None,
        "MAX_CONTENT_LENGTH": 256 * 1024,
        "MAX_FORM_PARTS": 500,
        **({"TRUSTED_HOSTS": list(config.trusted_hosts)} if config.trusted_hosts else {}),
    }


def serve_static(app: Flask) -> None:
    """Static files under /static/<build id>/: relative module imports inherit the prefix, so no bundler."""
    app.config["BUILD"] = assets.build_id()
    app.static_folder = str(assets.STATIC)
    app.static_url_path = f"/static/{app.config['BUILD']}"
    app.add_url_rule(
        f"{app.static_url_path}/<path:filename>",
        endpoint="static",
        view_func=access.open_to("anyone")(static_file(app)),
    )


def static_file(app: Flask):
    """Flask's own static view, as a function that can carry our role mark."""

    def view(filename: str):
        return app.send_static_file(filename)

    return view


def log_engine() -> None:
    """Say which engine and journal mode are in use: the first thing to know when a disk misbehaves."""
    version = connect.engine_version()
    journal, synchronous = connect.journal_for(version)
    logging.getLogger("drumside").info(
        "SQLite %s, journal %s, synchronous %s", ".".join(map(str, version)), journal, synchronous
    )


def check_schema(app: Flask) -> None:
    """Refuse to serve a database that has not been migrated, or that has lost its triggers."""
    opened = connect.connect(app.config["DATABASE"])
    try:
        migrations.require_current(opened)
        migrations.require_triggers(opened)
    finally:
        opened.close()
