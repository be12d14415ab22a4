"""A blend against what was read of it, and what all blends together say of mixing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flask_babel import gettext as _
from flask_babel import ngettext
from sqlite_utils import Database

from webapp.blends.gauges import gauge_of
from webapp.measure.blend import Reading
from webapp.measure.blend_read import LEAST_BLENDS, Against, Learnt, against, learnt
from webapp.measure.rounding import round_half_even, show_give_or_take, show_percent, show_value
from webapp.store import blend_candidates, gear, products, results
from webapp.store.blend_candidates import COFFEE, reading_of
from webapp.store.blends import Blend, Expected, Part
from webapp.store.gear import Scale
from webapp.store.meter_state import FINE
from webapp.store.part_results import PartResult
from webapp.store.products import Target
from webapp.ui.gauge import Gauge
from webapp.ui.numbers import decimal_mark
from webapp.ui.verdict_words import kind_word


@dataclass(frozen=True)
class Line:
    """One kind of a blend: expected, read, and the difference, in words. against: None until it is read."""

    kind: str
    name: str
    expected: str
    chance: str
    gauge: Gauge | None
    read: str
    difference: str
    against: Against | None
    says: str


def compared(db: Database, blend: Blend) -> dict[str, Against]:
    """kind -> how the trial reads against what was expected, for the kinds that were read on the target's scale.

    What the meters share is looked up in the parts as they read now; of a part that reads otherwise since it counts as
    its own.
    """
    read = results.get_parts(db, blend.batch_id)
    meters = blend_candidates.meters_of(db, [blend.batch_id, *(part.batch_id for part in blend.parts)])
    scale_id = products.get_target(db, blend.target_version_id).scale.id
    found = {}
    for kind in blend.expected:
        if kind not in read or read[kind].scale_id != scale_id or read[kind].apart_why:
            continue
        parts = [(blend.share(part), _reading(db, part, kind, meters)) for part in blend.parts if kind in part.values]
        if len(parts) == len(blend.parts):
            found[kind] = against(parts, reading_of(read[kind], meters[blend.batch_id][kind]))
    return found


def _reading(db: Database, part: Part, kind: str, meters: dict[str, dict[str, str]]) -> Reading:
    known, now = part.values[kind], results.get_parts(db, part.batch_id).get(kind)
    if now is None or not (results.same(now.value, known.value) and results.same(now.u, known.u)):
        return Reading(known.value, known.u)
    return reading_of(now, meters[part.batch_id][kind])


def lines(db: Database, blend: Blend, *, drawn: bool = True) -> list[Line]:
    """What a blend's page has of each kind. drawn: with gauges."""
    target = products.get_target(db, blend.target_version_id)
    scale, read, found = target.scale, results.get_parts(db, blend.batch_id), compared(db, blend)
    return [
        Line(
            kind, kind_word(kind), give(expected.value, 2 * expected.u, scale),
            show_percent(expected.chance, decimal_mark()),
            _gauge(target, kind, expected, read.get(kind)) if drawn else None,
            give(read[kind].value, read[kind].U, scale) if kind in read else "",
            signed(found[kind], scale) if kind in found else "", found.get(kind),
            agreement(found[kind], scale) if kind in found else "",
        )
        for kind, expected in blend.expected.items()
    ]  # fmt: skip


def _gauge(target: Target, kind: str, expected: Expected, read: PartResult | None) -> Gauge:
    """Of what was read; of what is expected while nothing is."""
    known = expected if read is None or read.scale_id != target.scale.id else read
    return gauge_of(target, kind, known.value, known.u)


def give(value: float, U: float, scale: Scale) -> str:
    """`56.2 ± 0.5`."""
    step, mark = scale.step / 100, decimal_mark()
    return f"{show_value(value, step, mark)}\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}{show_give_or_take(U, step, mark)}"


def away(difference: float, scale: Scale, step: float) -> tuple[str, str]:
    """('darker', '0.3') of a difference; ('', '') where it rounds to nothing."""
    if float(round_half_even(difference, step)) == 0:
        return "", ""
    lighter = (difference > 0) == (scale.lighter > 0)
    return "lighter" if lighter else "darker", show_value(abs(difference), step, decimal_mark())


def signed(found: Against, scale: Scale) -> str:
    """`0.3 darker, give or take 0.5`."""
    step = scale.step / 100
    side, by = away(found.difference, scale, step)
    take = show_give_or_take(found.U, step, decimal_mark())
    if not side:
        return _("none, give or take %(give)s", give=take)
    if side == "darker":
        return _("%(by)s darker, give or take %(give)s", by=by, give=take)
    return _("%(by)s lighter, give or take %(give)s", by=by, give=take)


def agreement(found: Against, scale: Scale) -> str:
    """Whether the reading agrees with what was expected."""
    if found.agrees:
        return _("It reads as expected: the difference lies within the give or take of both.")
    darker = away(found.difference, scale, scale.step / 100)[0] == "darker"
    if darker:
        return _("It reads darker than expected, by more than the give or take of both.")
    return _("It reads lighter than expected, by more than the give or take of both.")


def expected_words(kind: str, expected: Expected, scale: Scale) -> str:
    """`Ground 61.0 ± 0.5`."""
    return f"{kind_word(kind)} {give(expected.value, 2 * expected.u, scale)}"


@dataclass(frozen=True)
class Said:
    """What the blends of a kind and scale say. clear: that mixing is not linear here."""

    text: str
    clear: bool


def learnt_words(db: Database, blends: Iterable[Blend]) -> list[Said]:
    """What the shop has learnt of mixing, for each scale and kind of coffee of which a blend was read, as one sentence.

    A blend counts when its trial was read on meters that were proven.
    """
    differences: dict[tuple[str, str], list[float]] = {}
    for blend in blends:
        read = results.get_parts(db, blend.batch_id)
        for kind, found in compared(db, blend).items():
            if kind in COFFEE and read[kind].meter_state in FINE:
                differences.setdefault((read[kind].scale_id, kind), []).append(found.difference)
    scales = {scale_id: gear.get_scale(db, scale_id) for scale_id, _kind in differences}
    several = len(scales) > 1
    return [
        said_of(kind, values, scales[scale_id], several)
        for (scale_id, kind), values in sorted(
            differences.items(), key=lambda one: (scales[one[0][0]].name, COFFEE.index(one[0][1]))
        )
    ]


def said_of(kind: str, values: Sequence[float], scale: Scale, several: bool) -> Said:
    """One sentence. several: there are others on other scales."""
    name = f"{kind_word(kind)}, {scale.name}" if several else kind_word(kind)
    found = learnt(values, scale.step / 100)
    if found is None:
        so_far = ngettext("%(num)d blend read so far", "%(num)d blends read so far", len(values))
        return Said(f"{name}: " + _("%(so_far)s, %(least)d are needed before anything can be said.", so_far=so_far,
                                    least=LEAST_BLENDS), False)  # fmt: skip
    return Said(f"{name}: {mean_words(found, scale)}", not found.linear)


def mean_words(found: Learnt, scale: Scale) -> str:
    """How far blends read from what was expected, and what that says."""
    fine = scale.step / 1000
    side, by = away(found.mean, scale, fine)
    take = show_give_or_take(found.give_or_take, fine, decimal_mark())
    many = ngettext("%(num)d blend", "%(num)d blends", found.blends)
    if not side:
        text = _("%(many)s, read as expected on average, give or take %(give)s", many=many, give=take)
    elif side == "darker":
        text = _("%(many)s, read %(by)s darker than expected on average, give or take %(give)s", many=many, by=by,
                 give=take)  # fmt: skip
    else:
        text = _("%(many)s, read %(by)s lighter than expected on average, give or take %(give)s", many=many, by=by,
                 give=take)  # fmt: skip
    if found.linear:
        return f"{text}: " + _("nothing says that mixing is not linear here.")
    return f"{text}: " + _("mixing is not linear here. Expect the next one to be off by as much.")
