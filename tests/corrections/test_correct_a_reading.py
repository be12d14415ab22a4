"""Correcting a stored reading: the old one stays in sight, the result follows."""

import uuid

from webapp.store import results, samples


def correct(client, sample, no=2, **changes):
    sent = {"id": str(uuid.uuid4()), "what": "replace", "value": "56,0", "reason": "digits swapped"} | changes
    return client.post(f"/samples/{sample.id}/1/{no}/correct", data=sent)


def test_it_replaces_a_mistyped_reading(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    sample = bench.sample(batch.id, "whole", [56.0, 65.0, 56.2])
    assert correct(client, sample).status_code == 303
    assert samples.get_sample(bench.db, sample.id).readings[1].counts == 5600
    html = client.get(f"/batches/{batch.id}").get_data(as_text=True)
    assert '<span class="struck">65.0</span> <strong>56.0</strong>' in html
    assert "Corrected by Ravi" in html
    assert "digits swapped" in html


def test_it_voids_a_reading_that_should_not_count(bench, sign_in):
    batch = bench.batch()
    sample = bench.sample(batch.id, "whole", [56.0, 65.0, 56.2])
    assert correct(sign_in("lead"), sample, what="void", value="").status_code == 303
    assert results.get_parts(bench.db, batch.id)["whole"].readings == 2


def test_it_wants_a_reason_and_a_number(bench, sign_in):
    sample = bench.sample(bench.batch().id, "whole", [56.0, 65.0, 56.2])
    client = sign_in("roaster")
    assert "Give the reason." in correct(client, sample, reason="").get_data(as_text=True)
    assert "This scale runs from" in correct(client, sample, value="900").get_data(as_text=True)
    assert samples.get_sample(bench.db, sample.id).readings[1].corrections == ()


def test_it_is_not_for_a_trainee(bench, sign_in):
    sample = bench.sample(bench.batch().id, "whole", [56.0, 65.0, 56.2])
    assert correct(sign_in("trainee"), sample).status_code == 403


def test_it_knows_no_such_reading(bench, sign_in):
    sample = bench.sample(bench.batch().id, "whole", [56.0, 65.0, 56.2])
    assert correct(sign_in("roaster"), sample, no=9).status_code == 404
