"""Samples that waited on a tablet while their method was edited."""

from tests.bench.test_method_versions import edit, settled, shown
from tests.support.outbox import sample_record
from webapp.store import results, samples


def test_it_finishes_a_capture_that_was_opened_before_the_edit(bench, outbox):
    settled(bench)
    batch = bench.batch()
    sent = sample_record(bench, batch.id, readings=("59.0", "59.0", "59.0"))
    old = edit(bench, readings=1)
    said = outbox().send_one(sent)
    assert said["status"] == 200
    # What its own version has shown is what it is compared with: 56.
    assert len(said["remarks"]) == 3
    assert "This product has read about 56.0 so far." in said["remarks"][0]
    [made] = samples.get_samples(bench.db, batch.id)
    assert (made.method_version_id, made.method_no, made.sigma_source) == (old.id, 1, "routine")
    assert results.get_parts(bench.db, batch.id)["whole"].method_version_id == old.id


def test_it_compares_a_sample_by_the_new_version_with_nothing_that_the_old_one_has_shown(bench, outbox):
    settled(bench)
    edit(bench)
    batch = bench.batch()
    said = outbox().send_one(sample_record(bench, batch.id, readings=("59.0", "59.0", "59.0")))
    assert (said["status"], said["remarks"]) == (200, [])
    assert len(shown(bench, bench.versions["whole"])) == 1
