"""Two versions of a method side by side, and what the results of each stand on."""

from __future__ import annotations

from dataclasses import dataclass

from flask import render_template, request
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.db import get_db
from webapp.gear import version_diff as diff
from webapp.gear.blueprint import gear
from webapp.gear.method_use import scales_of
from webapp.gear.pictures import picture_choices
from webapp.store import methods as store
from webapp.store.errors import NotFound
from webapp.store.gear import Scale
from webapp.store.methods import MethodVersion, Step
from webapp.ui.access import open_to
from webapp.ui.filters import method_text
from webapp.ui.numbers import minutes
from webapp.ui.spread_words import SpreadLine, spread_line


@gear.get("/gear/methods/<uuid:method_id>/compare")
@open_to("trainee")
def compare_versions(method_id):
    """Two versions beside each other: those asked for, or the two newest."""
    db = get_db()
    versions = store.list_versions(db, str(method_id))
    a = asked_for(versions, "a", versions[min(1, len(versions) - 1)])
    b = asked_for(versions, "b", versions[0])
    scales = scales_of(db, a, b)
    return render_template(
        "gear/compare.html",
        versions=versions,
        a=a,
        b=b,
        head=head_lines(a, b),
        steps=diff.align([step_text(s) for s in a.steps], [step_text(s) for s in b.steps]),
        bases=[basis(db, version, scales) for version in (a, b)],
    )


def asked_for(versions: list[MethodVersion], name: str, otherwise: MethodVersion) -> MethodVersion:
    """The version that the address names. NotFound if it names none of them."""
    text = request.args.get(name)
    if text is None:
        return otherwise
    found = next((version for version in versions if str(version.no) == text), None)
    if found is None:
        raise NotFound(text)
    return found


def head_lines(a: MethodVersion, b: MethodVersion) -> list[diff.Line]:
    """What a version says before its first step."""
    lines = [
        diff.line(_("Dish"), *(method_text(v.dish) or _("not said") for v in (a, b))),
        diff.line(_("Readings of each fill"), *(str(v.planned_readings) for v in (a, b))),
        diff.line(_("Fills"), *(str(v.planned_fills) for v in (a, b))),
    ]
    if a.kind == "ground":
        lines.append(diff.line(_("Grinder setting"), *(setting_words(v) for v in (a, b))))
    return lines


def setting_words(version: MethodVersion) -> str:
    """Grinder and setting, or that there is none."""
    return f"{version.grinder_name}: {version.setting_name}" if version.setting_name else _("none")


def step_text(step: Step) -> diff.StepText:
    """What a step says, as it is shown at the bench."""
    asks = method_text(step.note_label) + (f" ({method_text(step.note_unit)})" if step.note_unit else "")
    return (
        (_("What to do"), method_text(step.title)),
        (_("How to do it"), method_text(step.body)),
        (_("Caution"), method_text(step.caution)),
        (_("Why"), method_text(step.why)),
        (_("Waiting time"), minutes(step.timer_s) if step.timer_s else ""),
        (_("Value to note"), asks),
        (_("Picture"), dict(picture_choices()).get(step.picture, step.picture) if step.picture else ""),
        (_("Button"), method_text(step.done_label)),
    )


@dataclass(frozen=True)
class Basis:
    """What the results of a version stand on: batches read by it alone, and its own spread on each scale."""

    batches: int
    spreads: list[SpreadLine]


def basis(db: Database, version: MethodVersion, scales: list[Scale]) -> Basis:
    """See Basis."""
    return Basis(store.batches_read_by(db, version.id), [spread_line(db, version, scale) for scale in scales])
