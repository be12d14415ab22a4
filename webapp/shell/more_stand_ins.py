"""What the forms of grinders and studies are filled with for the shell: see stand_ins.py."""

from __future__ import annotations

from types import SimpleNamespace

from markupsafe import Markup

from webapp.gear.grinder_forms import GrindCheckForm, LogForm
from webapp.shell.bare import bare
from webapp.studies.forms import SampleForm
from webapp.studies.precision_forms import StudyFillForm

# Stands for a text, and is none in any language; as in stand_ins.py, which this is a part of.
SOME = "–"
NO_ID = "00000000-0000-0000-0000-000000000000"
AT = "2026-01-01T00:00:00Z"
SCALE = SimpleNamespace(lower=0, upper=10000, step=10, lighter=1)
PLACE = SimpleNamespace(no=1, fill_no=1, preparer_name="")
GRINDER = SimpleNamespace(id=NO_ID, name="", active=True, settings=[SimpleNamespace(id="", name="")])


def pages() -> dict[str, Markup]:
    """Name -> the page's parts."""
    return {
        # Whichever address asks for the shell, it comes out the same.
        "not-yours": bare("errors/not_yours.html", level="roaster", request=SimpleNamespace(path="/")),
        "others-cup": others_cup(),
        "grinder-log": grinder_log(),
        "grind-check": bare("gear/grind_check.html", form=fresh(GrindCheckForm).of(GRINDER), grinder=GRINDER),
        **{f"read-{kind}": read(kind) for kind in ("whole", "ground")},
        **{f"fill-{kind}": fill(kind) for kind in ("whole", "ground")},
        "fill-other": bare("studies/precision_other.html", study=study("whole"), place=PLACE, own=PLACE),
    }


def others_cup() -> Markup:
    """A cup of a sign-off that somebody else reads."""
    side = SimpleNamespace(person_name="")
    comparison = SimpleNamespace(id=NO_ID, name="", blind=True, side=lambda name: side)
    coffee = SimpleNamespace(no=1, code="", name="")
    return bare("studies/others_cup.html", comparison=comparison, coffee=coffee, side="b", path="/")


def fresh(form: type, **values: str):
    """An empty form without a number and a time."""
    return form(formdata=None, meta={"csrf": False}, id="", made_at="", **values)


def grinder_log() -> Markup:
    """An entry of the log with everything: a setting to choose, and the words on changed burrs."""
    form = fresh(LogForm).of_kind("setting").of(GRINDER)
    return bare("gear/grinder_log.html", form=form, grinder=GRINDER, what="burrs", title="")


def method() -> SimpleNamespace:
    """One with everything, and a step with everything."""
    step = SimpleNamespace(title=SOME, body=SOME, caution=SOME, picture="setting")
    return SimpleNamespace(name="", no=1, dish=SOME, steps=(step,), setting_name=SOME, grinder_name="")


def study(kind: str) -> SimpleNamespace:
    """A precision study."""
    return SimpleNamespace(
        id=NO_ID, name="", coffee="", kind=kind, fills=1, readings=1, method=method(), scale=SCALE,
        meter=SimpleNamespace(name=""),
    )  # fmt: skip


def fill(kind: str) -> Markup:
    """One fill of a precision study: a planned reading, and one more."""
    form = fresh(StudyFillForm)
    for _ in range(2):
        form.readings.append_entry()
    return bare("studies/precision_fill.html", form=form, study=study(kind), place=PLACE, problems=[])


def read(kind: str) -> Markup:
    """One coffee on one side: two fills, each with a planned reading and one more, and a step with everything."""
    form = fresh(SampleForm)
    for _ in range(2):
        readings = form.fills.append_entry().form.readings
        for _ in range(2):
            readings.append_entry()
    side = SimpleNamespace(
        meter=SimpleNamespace(name=""), setting=SimpleNamespace(name=SOME), grinder_name="", method=method(),
    )  # fmt: skip
    comparison = SimpleNamespace(
        id=NO_ID, name="", what="meters", kind=kind, blind=True, readings=1, side=lambda name: side,
        scale=SCALE,
    )  # fmt: skip
    coffee = SimpleNamespace(no=1, code="", name="")
    earlier = [SimpleNamespace(received_at=AT, person_name="")]
    return bare(
        "studies/read.html", form=form, comparison=comparison, coffee=coffee, side="a", earlier=earlier, problems=[]
    )
