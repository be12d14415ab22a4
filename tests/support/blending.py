"""Blends for the tests: batches beside the band, a stored trial, its reading."""

from __future__ import annotations

import uuid
from datetime import datetime

from tests.support.pages import CheckingClient, Page, parsed
from tests.support.roastery import Roastery, later
from webapp.blends.plan import bands_of, held_of
from webapp.measure.blend import predict
from webapp.store import batches, blend_candidates, blends, decisions, products
from webapp.store.batches import Batch, NewBatch
from webapp.store.blends import Blend, Expected, Known, NewBlend, NewPart
from webapp.store.times import to_text


def held(bench: Roastery, code: str, whole: float, at: datetime | None = None, hold: bool = True) -> Batch:
    """A batch of 10.2 kg that reads `whole` and 5 more when ground, and is held."""
    at = at or later(bench.now, minutes=-60)
    batch = bench.batch(code, at=at)
    bench.sample(batch.id, "whole", [whole] * 3, [whole] * 3, at=later(at, minutes=5))
    bench.sample(batch.id, "ground", [whole + 5] * 3, [whole + 5] * 3, at=later(at, minutes=9))
    if hold:
        decisions.add_decision(
            bench.db, str(uuid.uuid4()), batch.id, "hold", "Out of band.", bench.who(), later(at, minutes=12)
        )
    return batch


def both_sides(bench: Roastery) -> list[Batch]:
    """Two held batches, one too dark and one too light, that make a mix in the middle of the band."""
    return [held(bench, "B-dark", 53.0), held(bench, "B-light", 59.0)]


def new_blend(bench: Roastery, masses: dict[str, int], code: str = "", at: datetime | None = None) -> NewBlend:
    """What a lead stores: batch id -> grams, with what is known of each now."""
    target = products.target_in_force(bench.db, bench.product)
    found = {one.batch_id: one for one in blend_candidates.list_candidates(bench.db, target, "", "")}
    taken = [(found[batch_id], grams) for batch_id, grams in masses.items()]
    predicted = predict(held_of(target, taken), list(masses.values()), bands_of(target))
    moment = to_text(at or bench.now)
    code = code or f"M-{uuid.uuid4().hex[:6]}"
    batch = NewBatch(
        str(uuid.uuid4()), code, bench.product, bench.machine, "", None, None, None, None, None, "", moment, moment
    )
    parts = tuple(
        NewPart(one.batch_id, grams, {k: Known(one.parts[k].value, one.parts[k].u) for k in target.bands})
        for one, grams in taken
    )
    expected = {kind: Expected(p.value, p.u, p.chance) for kind, p in predicted.items()}
    return NewBlend(str(uuid.uuid4()), batch, target.id, 0.8, 1000, "Both sides of the band.", parts, expected)


def stored(bench: Roastery, masses: dict[str, int], code: str = "", at: datetime | None = None) -> Blend:
    """The same, stored by the lead."""
    at = at or bench.now
    return blends.add_blend(bench.db, new_blend(bench, masses, code, at), bench.who("lead"), at)


def read(bench: Roastery, blend: Blend, whole: float, ground: float, at: datetime | None = None) -> None:
    """Both kinds of its trial."""
    at = at or later(bench.now, seconds=1)
    bench.sample(blend.batch_id, "whole", [whole] * 3, [whole] * 3, at=at)
    bench.sample(blend.batch_id, "ground", [ground] * 3, [ground] * 3, at=at)


def released(bench: Roastery, blend: Blend, what: str = "release") -> None:
    """A lead decides about the trial."""
    at = later(bench.now, seconds=2)
    decisions.add_decision(bench.db, str(uuid.uuid4()), blend.batch_id, what, "", bench.who("lead"), at)


def one_of_each(bench: Roastery) -> Blend:
    """A blend that was carried out, with everything that a page can say of it."""
    parts = both_sides(bench)
    blend = stored(bench, {batch.id: 5000 for batch in parts}, "B-mix")
    read(bench, blend, 56.1, 61.0)
    released(bench, blend)
    blends.carry_out(bench.db, blend.id, "Mixed.", bench.who("lead"), later(bench.now, seconds=3))
    return blends.get_blend(bench.db, blend.id)


def fresh(bench: Roastery, batch_id: str) -> Batch:
    """The batch as it is stored."""
    return batches.get_batch(bench.db, batch_id)


def said(page: Page) -> str:
    """The words of a page, with single blanks."""
    return " ".join(page.find("main")[0].text.split())


def fields(page: Page) -> dict[str, str]:
    """What the page's inputs would send as they stand."""
    ticked = [e for e in page.find("input") if e.attrs.get("type") != "checkbox" or "checked" in e.attrs]
    return {e.attrs["name"]: e.attrs.get("value", "") for e in ticked if e.attrs.get("name")}


def send(client: CheckingClient, path: str, data: dict, status: int) -> Page:
    """Post a form and look at the page that comes back."""
    answer = client.post(path, data=data)
    assert answer.status_code == status, (answer.status_code, answer.location)
    return parsed(answer.get_data(as_text=True))
