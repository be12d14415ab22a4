"""Moving a sample: which batches there are to choose from, what will be otherwise there, and the move itself."""

from __future__ import annotations

import uuid
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime

from flask import request
from flask_babel import gettext as _
from sqlite_utils import Database
from wtforms.fields.choices import SelectChoice

from webapp.corrections.forms import MoveForm
from webapp.store import batches, judged_by, products, results, sample_moves, samples
from webapp.store.batches import Batch
from webapp.store.errors import NotFound
from webapp.store.products import Target
from webapp.store.sample_moves import MovedMeanwhile
from webapp.store.samples import Sample
from webapp.ui.filters import day_and_clock, method_text
from webapp.ui.verdict_words import kind_word, settings_text

# So many batches are offered at least: where the day has fewer, the newest of other days follow.
LEAST = 8


@dataclass(frozen=True)
class Offered:
    """The batches to choose from: found by code, of the sample's own day, of other days; newest first."""

    found: list[Batch]
    same_day: list[Batch]
    others: list[Batch]

    @property
    def all(self) -> list[Batch]:
        """In the order in which they are shown."""
        return [*self.found, *self.same_day, *self.others]


def move_form(db: Database, sample: Sample) -> tuple[MoveForm, Offered]:
    """The form as posted or new, and what it offers. The batch that was chosen is always among it."""
    form = MoveForm(id=str(uuid.uuid4()), from_batch=sample.batch_id)
    offered = offer(db, sample, form.code.data or "", form.batch.data)
    form.batch.choices = [SelectChoice(batch.id, batch.code) for batch in offered.all]
    return form, offered


def offer(db: Database, sample: Sample, code: str, chosen: str | None) -> Offered:
    """See Offered. code: how the code begins that was typed; chosen: the id of a batch."""
    now = batches.get_batch(db, sample.batch_id)
    found = batches.search(db, code, 12) if code else []
    same_day = batches.list_day(db, now.day)
    newest = batches.search(db, "", 2 * LEAST) if len(same_day) <= LEAST else []
    if chosen and chosen not in {batch.id for batch in (*found, *same_day, *newest)}:
        with suppress(NotFound):
            found.append(batches.get_batch(db, chosen))
    # A form that is sent a second time names the batch that the sample is in by now.
    seen = {now.id} - {chosen}
    groups = []
    for group in (found, same_day, newest):
        groups.append([batch for batch in group if batch.id not in seen])
        seen |= {batch.id for batch in group}
    return Offered(groups[0], groups[1], groups[2][: max(0, LEAST - len(groups[1]))])


def move(db: Database, form: MoveForm, sample: Sample, who, now: datetime) -> list[str] | None:
    """Move it as the checked form says. None: done. A list: it was not; what has to be said first, or nothing where a
    message stands beside a field."""
    to = batches.get_batch(db, form.batch.data)
    cautions = misfits(db, sample, to)
    if cautions and form.understood.data != to.id:
        form.understood.data, form.understood.raw_data = to.id, None
        return cautions
    try:
        sample_moves.add_move(db, form.id.data, sample.id, form.from_batch.data, to.id, form.reason.data, who, now)
    except (MovedMeanwhile, ValueError):
        stands = batches.get_batch(db, samples.get_sample(db, sample.id).batch_id)
        form.from_batch.data, form.from_batch.raw_data = stands.id, None
        form.batch.errors = [
            _("It was moved meanwhile: it is in batch %(code)s, %(product)s.", code=stands.code,
              product=stands.product_name)
        ]  # fmt: skip
        return []
    return None


def misfits(db: Database, sample: Sample, to: Batch) -> list[str]:
    """What will be said of the sample in another batch but its numbers: that it is not judged there, or kept apart."""
    found = []
    if sample.made_at < to.roasted_at:
        found.append(
            _("Batch %(code)s was roasted on %(roasted)s, after this sample was read.",
              code=to.code, roasted=day_and_clock(to.roasted_at))
        )  # fmt: skip
    target = _target(db, sample, to)
    if sample.off_setting:
        found.append(settings_text(sample.ground_at))
    elif why := _not_judged(target, sample):
        found.append(why)
    # Those that have been read again do not count, and are no company.
    there = [s for s in results.counting(db, to.id, samples.get_samples(db, to.id)) if s.kind == sample.kind]
    key = (sample.method_version_id, sample.scale_id, sample.grinder_setting_id)
    if there and any((s.method_version_id, s.scale_id, s.grinder_setting_id) != key for s in there):
        found.append(
            _("Batch %(code)s has been read another way already. The two do not count together: one is kept apart.",
              code=to.code)
        )  # fmt: skip
    return found


def _target(db: Database, sample: Sample, to: Batch) -> Target | None:
    stored = products.get_target(db, sample.target_version_id) if sample.target_version_id else None
    if stored is None or stored.product_id == to.product_id:
        return stored
    return judged_by.target_of(db, sample, to.product_id, to.roasted_at)


def _not_judged(target: Target | None, sample: Sample) -> str:
    kind = kind_word(sample.kind).lower()
    if target is None or sample.kind not in target.bands:
        return _("Its target there has no band for %(kind)s: it will be shown, not judged.", kind=kind)
    if results.band_of(target, sample.kind, sample.scale_id, sample.method_id):
        return ""
    if target.scale.id != sample.scale_id:
        return _("The target there is on “%(scale)s”, and it was read on %(meter)s: it will be shown, not judged.",
                 scale=target.scale.name, meter=sample.meter_name)  # fmt: skip
    return _("It was read by “%(method)s”, and the target there asks for another method: it will be shown, not judged.",
             method=method_text(sample.method_name))  # fmt: skip


def only_looking() -> bool:
    """Whether the button was pressed that looks for a code, and nothing is to be stored."""
    return "find" in request.form
