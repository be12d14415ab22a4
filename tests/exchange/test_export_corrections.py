"""What was corrected goes out with everything else: what stood before, what after, by whom and why."""

from webapp.store import batches, export_sets, results
from webapp.store.export_sets import BY_NAME


def read(db, name):
    """The rows of a set as dicts."""
    one = BY_NAME[name]
    return [dict(zip((c.name for c in one.columns), row, strict=True)) for row in export_sets.rows(db, one)]


def test_it_names_both_batches_of_a_move(worked):
    [move] = read(worked.db, "sample_moves")
    said = [move[name] for name in ("from_batch", "to_batch", "kind", "person")]
    assert said == ["0514-02", "0514-01", "ground", "Ravi"]
    [sample] = [row for row in read(worked.db, "samples") if row["id"] == move["sample_id"]]
    assert sample["batch_id"] == move["to_batch_id"]


def test_it_has_a_facts_old_and_new_value_in_the_units_of_the_batches(worked):
    facts = {row["fact"]: (row["before"], row["after"]) for row in read(worked.db, "batch_corrections")}
    assert facts == {"lot": ("Lot 1", "+1"), "roasted_kg": ("10.2", "10.35"), "drop_celsius": ("205.0", None)}
    [batch] = [row for row in read(worked.db, "batches") if row["code"] == "0514-01"]
    assert {fact: batch[fact] for fact in facts} == {"lot": "+1", "roasted_kg": 10.35, "drop_celsius": None}


def test_it_says_what_a_correction_changed(worked):
    changes = {row["id"]: row for row in read(worked.db, "result_changes")}
    assert [(row["batch"], row["cause"]) for row in changes.values()] == [
        ("0514-01", "correction"), ("0514-02", "sample_move"), ("0514-01", "sample_move"),
    ]  # fmt: skip
    values = read(worked.db, "result_change_values")
    assert {row["change_id"] for row in values} == set(changes)
    last = list(changes)[-1]
    ground = next(row for row in values if (row["change_id"], row["kind"]) == (last, "ground"))
    [batch] = batches.find_by_code(worked.db, "0514-01")
    assert ground["value_after"] == results.get_parts(worked.db, batch.id)["ground"].value
