"""A ground sample at another setting than its method names: shown, never judged, never averaged with proper ones."""

from __future__ import annotations

import re
import uuid

import pytest

from tests.support.roastery import later
from webapp.store import gear, grinder_log, results, samples, spreads
from webapp.store.shown_before import shown_before

ASKED = [61.0, 61.2, 61.1]
OTHER = [57.0, 57.2, 57.1]
SAYS = "Ground at 9, the method asks for 7: shown, not judged."


@pytest.fixture
def nine(bench) -> str:
    """A second setting of the method's grinder."""
    return gear.add_grinder_setting(bench.db, bench.grinder, "9", bench.who("lead"), later(bench.now, days=-30))


@pytest.fixture
def batch(bench):
    """A batch whose whole bean is in band."""
    made = bench.batch("0514-01")
    bench.sample(made.id, "whole", [56.0, 56.1, 56.1])
    return made


def part(bench, batch, kind="ground"):
    return results.get_parts(bench.db, batch.id)[kind]


def filled(page, **changes) -> dict:
    """The capture form as a browser would post it, every step ticked."""
    fields = {e.attrs["name"]: e.attrs.get("value", "") for e in page.find("input", type="hidden")}
    for step in page.find("input", type="checkbox"):
        if step.attrs["name"].startswith("steps-"):
            fields[step.attrs["name"]] = "y"
    for no, value in enumerate(OTHER):
        fields[f"fills-0-readings-{no}-value"] = str(value)
    return fields | changes


def test_it_is_shown_and_never_judged(bench, batch, nine):
    bench.sample(batch.id, "ground", OTHER, setting=nine)
    ground, verdict = part(bench, batch), results.get_batch_result(bench.db, batch.id)
    assert ground.value == pytest.approx(57.1)
    assert (ground.verdict, ground.apart_why, ground.apart) == (None, "setting", 0)
    assert (part(bench, batch, "difference").verdict, part(bench, batch, "difference").apart_why) == (None, "setting")
    assert (verdict.verdict, verdict.missing) == ("incomplete", ("ground", "difference"))
    assert part(bench, batch, "whole").verdict == "inside"


@pytest.mark.parametrize("last", ["asked", "other"])
def test_it_counts_beside_the_proper_ones_whichever_came_last(bench, batch, nine, last):
    """Of whole bean and proper samples alone the same comes out, to the bit."""
    bench.sample(batch.id, "ground", ASKED)
    alone = {kind: part(bench, batch, kind) for kind in results.KINDS}
    again = bench.batch("0514-02")
    bench.sample(again.id, "whole", [56.0, 56.1, 56.1])
    for at in ("other", "asked") if last == "asked" else ("asked", "other"):
        bench.sample(again.id, "ground", ASKED if at == "asked" else OTHER, setting=nine if at == "other" else None)
    for kind, there in alone.items():
        found = part(bench, again, kind)
        assert (found.value, found.u, found.verdict) == (there.value, there.u, there.verdict)
        assert (found.samples, found.apart_why) == (there.samples, None)
    assert part(bench, again).apart == 1
    assert results.get_batch_result(bench.db, again.id).verdict == "inside"


def test_it_is_no_part_of_what_the_product_has_shown_or_of_the_methods_spread(bench, nine):
    scale = (bench.product, "ground", bench.scale)
    version = bench.versions["ground"].id
    for product, kind in ((bench.product, "whole"), (bench.product, "ground")):
        bench.sample(bench.batch(product=product).id, kind, ASKED if kind == "ground" else [56.0, 56.1])
    by = bench.versions["ground"]

    def learnt():
        shown = shown_before(bench.db, *scale, by)
        return shown, spreads.sigmas_for(bench.db, version, bench.scale, "ground", 150)

    before = learnt()
    sums = list(bench.db.query("SELECT * FROM method_spread"))
    for _ in range(12):
        batch = bench.batch()
        bench.sample(batch.id, "whole", [56.0, 56.1])
        bench.sample(batch.id, "ground", [50.0, 64.0, 58.0], [44.0, 61.0, 59.0], setting=nine)
    assert len(shown_before(bench.db, bench.product, "difference", bench.scale, by)) == 0
    assert learnt() == before
    ground = [row for row in bench.db.query("SELECT * FROM method_spread") if row["method_version_id"] == version]
    assert ground == [row for row in sums if row["method_version_id"] == version]
    assert results.rebuild(bench.db) == []


def test_it_is_worked_out_again_to_the_same(bench, batch, nine):
    bench.sample(batch.id, "ground", OTHER, setting=nine)
    bench.db.conn.execute("UPDATE part_result SET apart_why = NULL WHERE kind = 'ground'")
    assert results.rebuild(bench.db, store=True) == [f"the result of batch {batch.id}"]
    assert part(bench, batch).apart_why == "setting"
    assert results.rebuild(bench.db) == []


def test_it_says_why_on_the_result_and_on_the_batch(sign_in, bench, batch, nine):
    bench.sample(batch.id, "ground", OTHER, setting=nine)
    client = sign_in("roaster")
    shown = client.page(f"/batches/{batch.id}/result").find("main")[0].text
    assert "Not judged yet." in shown
    assert "Read it again at the method's setting." in shown
    assert shown.count(SAYS) == 2
    assert "Release batch" not in shown
    record = client.page(f"/batches/{batch.id}").find("main")[0].text
    assert SAYS in record
    assert "Grinder 1, 9" in record


def test_it_names_the_grinders_where_they_differ(sign_in, bench, batch):
    second = gear.add_grinder(bench.db, "Grinder 2", bench.who("lead"), bench.now)
    fine = gear.add_grinder_setting(bench.db, second, "fine", bench.who("lead"), bench.now)
    bench.sample(batch.id, "ground", OTHER, setting=fine)
    text = sign_in("roaster").page(f"/batches/{batch.id}/result").find("main")[0].text
    assert "Ground at Grinder 2, fine, the method asks for Grinder 1, 7: shown, not judged." in text


def choices(page) -> list[tuple[str, bool]]:
    """What the capture page offers, and which is chosen."""
    inside = page.find("select", name="setting")
    options = [o for o in page.find("option") if o.text in ("7, Grinder 1", "9, Grinder 1")]
    return [(o.text, "selected" in o.attrs) for o in options] if inside else []


def test_it_is_chosen_on_the_capture_page_where_the_grinder_stands_first(sign_in, bench, batch, nine):
    client, path = sign_in("roaster"), f"/batches/{batch.id}/ground"
    assert choices(client.page(path)) == [("7, Grinder 1", True), ("9, Grinder 1", False)]
    grinder_log.add_event(
        bench.db, str(uuid.uuid4()), bench.grinder, "setting", nine, "", bench.who(), later(bench.now, minutes=-1)
    )
    page = client.page(path)
    assert choices(page) == [("7, Grinder 1", False), ("9, Grinder 1", True)]
    assert "The method asks for 7. What you read is kept apart and not judged." in page.find("main")[0].text
    # Whole bean is ground nowhere.
    assert choices(client.page(f"/batches/{batch.id}/whole")) == []


@pytest.mark.parametrize("chosen", ["nine", "asked", None])
def test_it_stores_where_it_was_ground_once(sign_in, bench, batch, nine, chosen):
    client, path = sign_in("roaster"), f"/batches/{batch.id}/ground"
    form = filled(client.page(path))
    if chosen:
        form["setting"] = nine if chosen == "nine" else bench.setting
    answers = [client.post(path, data=form) for _ in range(2)]
    assert [a.status_code for a in answers] == [303, 303]
    [there] = [s for s in samples.get_samples(bench.db, batch.id) if s.kind == "ground"]
    assert there.grinder_setting_id == (nine if chosen == "nine" else bench.setting)
    assert there.off_setting == (chosen == "nine")
    other = bench.setting if chosen == "nine" else nine
    assert client.post(path, data=form | {"setting": other}).status_code == 409


def test_it_does_not_ask_whether_it_is_unlike_what_the_product_has_shown(sign_in, bench, nine):
    """Another grind reads otherwise: that is no slip of the finger."""
    for _ in range(6):
        bench.sample(bench.batch().id, "ground", ASKED)
    batch, client = bench.batch(), sign_in("roaster")
    path = f"/batches/{batch.id}/ground"
    answer = client.post(path, data=filled(client.page(path)))
    assert answer.status_code == 422
    assert "This product has read about" in answer.text
    assert client.post(path, data=filled(client.page(path), setting=nine)).status_code == 303


def test_it_refuses_a_setting_that_is_not_offered_and_keeps_what_was_typed(sign_in, bench, batch, nine):
    second = gear.add_grinder(bench.db, "Grinder 2", bench.who("lead"), bench.now)
    fine = gear.add_grinder_setting(bench.db, second, "fine", bench.who("lead"), bench.now)
    gear.retire(bench.db, "grinder", second, bench.who("lead"), bench.now)
    client, path = sign_in("roaster"), f"/batches/{batch.id}/ground"
    for wrong in (fine, "9", str(uuid.uuid4())):
        answer = client.post(path, data=filled(client.page(path), setting=wrong))
        assert answer.status_code == 422
        assert "This setting is not offered any more. Choose again." in answer.text
        assert re.search(r'name="fills-0-readings-1-value" value="57.2"', answer.text)
    assert [s.kind for s in samples.get_samples(bench.db, batch.id)] == ["whole"]
