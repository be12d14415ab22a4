"""Storing the two methods that come with the app; from then on they belong to the bench."""

from __future__ import annotations

from datetime import datetime

from sqlite_utils import Database

from webapp.store import methods
from webapp.store.connect import write
from webapp.store.who import Who
from webapp.ui.default_methods import DEFAULT_METHODS, DefaultMethod


def install_default_methods(
    db: Database, who: Who, now: datetime, grinder_setting_id: str | None = None
) -> dict[str, str]:
    """Store both as version 1; returns kind -> method id. `grinder_setting_id` goes to the one for ground coffee."""
    with write(db):
        return {method.kind: install(db, method, who, now, grinder_setting_id) for method in DEFAULT_METHODS}


def install(db: Database, method: DefaultMethod, who: Who, now: datetime, grinder_setting_id: str | None) -> str:
    """Store one; returns its id."""
    setting = grinder_setting_id if method.kind == "ground" else None
    steps = [
        methods.Step(
            no=no, title=step.title, body=step.body, why=step.why, done_label=step.done_label, picture=step.picture,
            caution=step.caution or "", timer_s=step.timer_s, note_label=step.note_label or "",
            note_unit=step.note_unit or "",
        )
        for no, step in enumerate(method.steps, start=1)
    ]  # fmt: skip
    return methods.add_method(
        db, method.name, method.kind, method.dish, method.planned_readings, method.planned_fills, setting, steps,
        who, now,
    )  # fmt: skip
