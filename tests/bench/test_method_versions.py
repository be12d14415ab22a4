"""A method edited at work: what was opened before finishes on its version, and nothing mixes two versions."""

from datetime import timedelta

import pytest

from tests.bench.test_capture import form_of, post
from webapp import measure
from webapp.bench import kit, page
from webapp.store import methods, products, results, samples, spreads
from webapp.store.products import TargetBand
from webapp.store.shown_before import shown_before


def edit(bench, kind="whole", readings=3):
    """The next version of a method, in force from now on; the one before."""
    old = methods.version_in_force(bench.db, bench.methods[kind])
    methods.add_version(
        bench.db, old.method_id, old.dish, readings, old.planned_fills, old.grinder_setting_id, old.steps[:3],
        "shorter", bench.who("lead"), bench.now,
    )  # fmt: skip
    bench.versions = bench.versions | {kind: methods.version_in_force(bench.db, old.method_id)}
    return old


def shown(bench, version, kind="whole"):
    return shown_before(bench.db, bench.product, kind, bench.scale, version)


def settled(bench, value=56.0, spread=0.02, n=12):
    """Batches read twice by the version now in force, all alike: the bench knows its spread and its product."""
    for at in range(n):
        fill = [value + spread, value, value - spread]
        bench.sample(bench.batch(at=bench.now - timedelta(minutes=at)).id, "whole", fill, fill)


def test_it_starts_a_new_version_with_nothing_shown(bench):
    settled(bench)
    old = edit(bench)
    new = bench.versions["whole"]
    assert (len(shown(bench, old)), shown(bench, new)) == (12, [])
    bench.sample(bench.batch().id, "whole", [60.0, 60.1, 60.0])
    assert shown(bench, new) == [pytest.approx(60.0333, abs=1e-3)]
    assert all(value < 57 for value in shown(bench, old))


def test_it_counts_what_was_roasted_a_while_before_the_version_was_made(bench):
    """Roasted yesterday, read today by the version made this morning."""
    edit(bench)
    new = bench.versions["whole"]
    for days in (1, 29, 31):
        bench.sample(bench.batch(at=bench.now - timedelta(days=days)).id, "whole", [56.0, 56.1, 56.0], at=bench.now)
    assert len(shown(bench, new)) == 2


def test_it_asks_by_what_the_version_in_force_has_shown(bench, sign_in):
    """The same reading: far from what the product has shown by the old version; the new one has shown nothing."""
    settled(bench)
    far = ("59.0", "59.0", "59.0")
    assert post(sign_in("roaster"), bench.batch(), form_of(bench, readings=far)).status_code == 422
    edit(bench)
    assert post(sign_in("roaster"), bench.batch(), form_of(bench, readings=far)).status_code == 303


def test_it_checks_a_running_capture_by_the_version_it_was_opened_with(bench, sign_in):
    """Online: opened before the edit, stored after it."""
    settled(bench)
    batch, sent, client = bench.batch(), form_of(bench, readings=("56.0", "56.0", "59.0")), sign_in("roaster")
    far = form_of(bench, readings=("59.0", "59.0", "59.0"))
    old = edit(bench, readings=1)
    answer = post(client, batch, sent)
    # By the old version's spread these disagree; the new one's is only assumed.
    assert answer.status_code == 422
    assert "Far from the other readings of this fill." in answer.text
    answer = post(client, batch, far)
    assert answer.status_code == 422
    assert "This product has read about 56.0 so far." in answer.text
    # The page that comes back still has the old version's steps.
    assert f'value="{old.id}"' in answer.text
    fine = sent | {"fills-0-readings-2-value": "56.1"}
    assert post(client, batch, fine).status_code == 303
    [made] = samples.get_samples(bench.db, batch.id)
    assert (made.method_version_id, len(made.steps), made.sigma_source) == (old.id, len(old.steps), "routine")


def test_it_keeps_the_spread_of_each_version_to_itself(bench):
    settled(bench)
    old = edit(bench)
    new = bench.versions["whole"]

    def known(version):
        return spreads.sigmas_for(bench.db, version.id, bench.scale, "whole", 150.0)

    before = known(old)
    assert (before.source, known(new)) == ("routine", measure.choose_sigmas(None, None, None, "whole", 150.0))
    bench.sample(bench.batch().id, "whole", [50.0, 58.0, 54.0], [40.0, 41.0, 49.0])
    assert known(old) == before


def test_it_never_averages_two_versions_in_one_result(bench):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.0, 56.0, 56.0], at=bench.now - timedelta(minutes=2))
    edit(bench)
    bench.sample(batch.id, "whole", [57.0, 57.0, 57.0], at=bench.now)
    part = results.get_parts(bench.db, batch.id)["whole"]
    assert (part.value, part.samples, part.apart) == (pytest.approx(57.0), 1, 1)
    assert part.method_version_id == bench.versions["whole"].id


def test_it_gives_a_tablet_the_history_of_the_version_it_would_use(bench, app):
    settled(bench)
    bench.sample(bench.batch().id, "ground", [61.0, 61.1, 61.0])

    def history():
        with app.test_request_context():
            made = kit.make(bench.db, bench.now)
        return {h["kind"]: (h["version_id"], h["n"]) for h in made["history"] if h["scale_id"] == bench.scale}

    old = bench.versions["whole"]
    assert history() == {"whole": (old.id, 12), "ground": (bench.versions["ground"].id, 1)}
    edit(bench)
    assert history()["whole"] == (bench.versions["whole"].id, 0)
    # A target that names another method: that one's.
    lead = bench.who("lead")
    other = methods.add_method(bench.db, "New way", "whole", "", 2, 1, None, old.steps[:2], lead, bench.now)
    products.add_target_version(
        bench.db, bench.product, bench.scale, "guarded", 0.8, other, None, [TargetBand("whole", 5450, 5600, 5750)],
        "new way", lead, bench.now,
    )  # fmt: skip
    assert history()["whole"] == (methods.version_in_force(bench.db, other).id, 0)
    found = page.gather(bench.db, bench.batch(), "whole", None, None)
    assert found.method.method_id == other
