"""What the online templates are filled with for the shell: one of everything that can be there, with nothing in it.

The scripts in static/js/offline take the parts that they need, and fill them from the kit and from what is on the
tablet. Whatever a template shows only sometimes has to be there here, so that it can be left out.
"""

from __future__ import annotations

from types import SimpleNamespace

from markupsafe import Markup
from werkzeug.datastructures import MultiDict
from wtforms.fields.choices import SelectChoice

from webapp.bench.filling import with_steps
from webapp.bench.forms import BatchForm, CaptureForm
from webapp.bench.hands import nobody_their_own
from webapp.gear.check_forms import CheckForm
from webapp.shell import more_stand_ins
from webapp.shell.bare import bare
from webapp.store.methods import Step
from webapp.store.results import KINDS
from webapp.store.who_decides import WHATS
from webapp.ui import decision_words, verdict_words
from webapp.ui.decision_form import DecisionForm
from webapp.ui.gauge import make_gauge

# Stands for a text, and is none in any language.
SOME = "–"
NO_ID = "00000000-0000-0000-0000-000000000000"
NOBODY = SimpleNamespace(
    session=SimpleNamespace(role="roaster", auto_point=False, short_checklist=False, name="", person_id=""), site=None
)
BATCH = SimpleNamespace(
    id=NO_ID, code="", product_id="", product_name="", product_short="", machine_id="", machine_name="", lot="",
    roasted_at="2026-01-01T00:00:00Z", day="2026-01-01", roast_loss=1.0,
)  # fmt: skip
METERS = [SimpleNamespace(id=f"meter-{n}", name="") for n in (1, 2)]
LINE = SimpleNamespace(meter=SimpleNamespace(id=NO_ID, name=""), fine=False, text=SOME, can_check=True)
EVERYTHING = Step(1, "", SOME, SOME, "", "grinder-setting", SOME, 60, SOME, "g")


def forms() -> dict[str, Markup]:
    """Name -> the parts of the two forms that are opened most, and of what is shown where one cannot be."""
    return {
        "not-ready": bare("bench/not_ready.html"),
        "new-batch": bare("bench/new_batch.html", form=batch_form(), first="{}"),
        # Of whole bean; the words and the gauge of ground coffee are put into it.
        "capture": capture("whole"),
    }


def pages() -> dict[str, Markup]:
    """Name -> the page's parts, of everything else in shell.html."""
    return {
        "meter-check": meter_check(),
        **more_stand_ins.pages(),
        # Three readings of the same page: every part measured, none measured, and out of band with a decision.
        "result": result(KINDS, allowed=("release", "hold", "remeasure", "reject")),
        "result-missing": result((), missing=("whole", "ground")),
        "result-decided": result((), allowed=("concession",), verdict="outside", decision=DECISION),
        **{
            f"reason-{what}": bare(
                "decisions/reason.html", form=decision_form(what), batch=BATCH, title=decision_words.title(what, ""),
                button=decision_words.asked(what), overtaken="", may=True, supersedes=SOME,
            )
            for what in WHATS
        },
    }


def batch_form() -> BatchForm:
    """A new batch with one product and one machine to choose."""
    form = BatchForm(formdata=None, meta={"csrf": False}, id="")
    form.product.choices = [SelectChoice("", "")]
    form.machine.choices = [SelectChoice("", "")]
    return form


def decision_form(what: str = "release") -> DecisionForm:
    """A decision."""
    return DecisionForm(formdata=None, meta={"csrf": False}, id="", what=what, seen="")


def capture(kind: str) -> Markup:
    """The capture page: a step with everything, two meters, two fills, each with a planned reading and one more."""
    form = CaptureForm(formdata=with_steps(MultiDict(), 1), meta={"csrf": False})
    for _ in range(2):
        readings = form.fills.append_entry().form.readings
        for _ in range(2):
            readings.append_entry()
    form.meter.choices = [SelectChoice(m.id, m.name) for m in METERS]
    form.fewer.asked = form.no_more.asked = False
    method = SimpleNamespace(
        id=NO_ID, method_id=NO_ID, dish=SOME, planned_readings=1, planned_fills=1, grinder_name="",
        setting_name=SOME, steps=(EVERYTHING,),
    )  # fmt: skip
    earlier = SimpleNamespace(id=NO_ID, received_at=BATCH.roasted_at, person_name="")
    page = SimpleNamespace(
        batch=BATCH, kind=kind, method=method, meters=METERS, meter=METERS[0], earlier=[earlier],
        gauge=gauge(kind, None), kit=lambda: "{}", line=LINE, settings=METERS,
        practice=None,
    )  # fmt: skip
    return bare("bench/capture.html", g=NOBODY, form=form, page=page, problems=[], onward=None, walk=False)


def meter_check() -> Markup:
    """A meter's check with a clock to warm up by, and one reading of each kind."""
    scale = SimpleNamespace(lower=0, upper=10000, step=10, lighter=1)
    plate = SimpleNamespace(id=NO_ID, name="", assigned=6000, tolerance=20)
    form = CheckForm(formdata=None, meta={"csrf": False}, id="", meter="", plate="")
    form.use(scale, plate, 1)
    page = SimpleNamespace(
        meter=SimpleNamespace(id=NO_ID, name="", scale=scale), plate=plate, planned=1, warm_up_s=60
    )  # fmt: skip
    return bare("gear/check.html", g=NOBODY, form=form, page=page, problems=[], line=LINE)


def gauge(kind: str, value: float | None, verdict: str = ""):
    """A gauge with everything on it: rails, wash, target, whisker, arrows, words at the ends, and few numbers."""
    return make_gauge(kind, value, 1.0, 40.0, 50.0, 60.0, step=20.0, lighter=1, verdict=verdict, scale=(0.0, 100.0))


def gauges() -> list:
    """One of each kind that a capture has."""
    return [gauge(kind, 50.0, "undecided") for kind in ("whole", "ground")]


def result(
    measured: tuple[str, ...], *, missing: tuple[str, ...] = (), allowed: tuple[str, ...] = (),
    verdict: str = "undecided", decision: SimpleNamespace | None = None,
) -> Markup:  # fmt: skip
    """The result page with these parts measured and these missing."""
    samples = [SimpleNamespace(id=NO_ID, kind=kind, role="trainee", received_at=BATCH.roasted_at, person_name="")
               for kind in ("whole", "ground")]  # fmt: skip
    return bare(
        "bench/result.html", hands=waits_for_hands(), advice=None, doubted_by=None, apart_says=SOME, burrs_say=SOME,
        batch=BATCH, blend=None,
        views={kind: view(kind) for kind in measured}, missing=missing,
        words=verdict_words.Words(verdict, None, "", "", SOME, SOME), samples=samples, allowed=allowed,
        decision=decision, decisions=[], needs_reason=False, form=decision_form(),
    )  # fmt: skip


def waits_for_hands() -> SimpleNamespace:
    """A trainee's samples, with no way to countersign them: that is done where the numbers are to be seen."""
    signed = SimpleNamespace(person_name="", received_at=BATCH.roasted_at, note="")
    return SimpleNamespace(text=SOME, why_not=nobody_their_own(), form=None, signed=[signed])


DECISION = SimpleNamespace(what="hold", person_name="", received_at=BATCH.roasted_at, reason=SOME, customer=None)


def view(kind: str) -> SimpleNamespace:
    """A part that has everything to say."""
    part = SimpleNamespace(
        kind=kind, sigma_source="assumed", verdict="undecided", readings_disagree=1, fills_disagree=1, fills=1,
        readings=1, samples=2, apart=1, apart_why="setting", sigma_r=0.0, sigma_f=0.0, fill_term=0.0,
        reading_term=0.0, step_term=0.0, meter_term=0.0, u=0.0, U=0.0, position=0.0, chance=0.0,
    )  # fmt: skip
    target = SimpleNamespace(rule="guarded", confidence=0.8)
    return SimpleNamespace(
        part=part, name=verdict_words.kind_word(kind), word="", band=True, target=target,
        gauge=gauge(kind, 50.0, "undecided"), sigmas_from="",
    )  # fmt: skip


def how_views() -> dict[str, SimpleNamespace]:
    """The parts for "How this was worked out"."""
    return {kind: view(kind) for kind in KINDS}
