"""What a trainee read and nobody has countersigned is marked in the trend, by kind."""

import uuid
from datetime import timedelta

from tests.support import comparing
from webapp.store import countersigns, signoffs
from webapp.store.trends import ALL
from webapp.trends import run


def waiting(bench, kind="whole"):
    return run.look_at(bench.db, bench.product, kind, ALL, 100).waiting


def test_it_marks_the_kind_that_a_trainee_read(bench, roast):
    roast([56.0, 56.1])
    at = bench.now - timedelta(minutes=30)
    batch = bench.batch("R-T", at=at)
    bench.sample(batch.id, "whole", [56.0] * 3, at=at)
    bench.sample(batch.id, "ground", [61.0] * 3, at=at, role="trainee")
    assert (waiting(bench), waiting(bench, "ground")) == (frozenset(), {batch.id})
    assert waiting(bench, "difference") == {batch.id}


def test_it_is_in_the_label_and_the_table_until_it_is_countersigned(bench, sign_in, roast):
    roast([56.0, 56.1])
    [batch] = roast([56.2], ago=-3, role="trainee")
    where = f"/trends/{bench.product}/whole"
    page = sign_in("trainee").page(where)
    [tag] = [e for e in page.find("span", class_="tag") if e.text == "not countersigned"]
    labels = [a.attrs.get("aria-label", "") for a in page.find("a") if "svg" in a.inside]
    assert [label for label in labels if "not countersigned" in label]
    assert all("R--3-000" in label for label in labels if "not countersigned" in label)
    sample = next(bench.db.query("SELECT id FROM sample WHERE batch_id = ?", (batch.id,)))["id"]
    countersigns.add_countersignature(bench.db, str(uuid.uuid4()), batch.id, [sample], "", bench.who(), bench.now)
    assert waiting(bench) == frozenset()
    assert "not countersigned" not in sign_in("trainee").page(where).find("main")[0].text


def test_it_goes_by_the_sign_off_at_the_time_of_reading(bench, roast):
    [before] = roast([56.2], ago=9, role="trainee")
    there = comparing.plan_people(bench, 1)
    evidence = signoffs.Evidence(10, 0.05, -0.1, 0.2, 0.75, 0.3, 0.6, 10)

    def say(what, hours, **how):
        new = signoffs.NewSignOff(str(uuid.uuid4()), bench.people["trainee"], "whole", what, **how)
        signoffs.add_signoff(bench.db, new, bench.who("lead"), bench.now - timedelta(hours=hours))

    say("signed_off", 8, comparison_id=there.id, evidence=evidence, valid_until=None, reason="")
    roast([56.2], ago=6, role="trainee")
    say("withdrawn", 5, comparison_id=None, evidence=None, valid_until=None, reason="Hurried.")
    [after] = roast([56.2], ago=3, role="trainee")
    assert waiting(bench) == {before.id, after.id}
    # As the batches' own results have it, whichever way they were asked.
    for point in run.look_at(bench.db, bench.product, "whole", ALL, 100).trend.points:
        [row] = bench.db.query("SELECT hands_state FROM batch_result WHERE batch_id = ?", (point.batch_id,))
        assert (row["hands_state"] == "waiting") == (point.batch_id in waiting(bench))
