"""History that was read before a meter's check failed is in no look-back: nobody can read it again."""

from tests.support import importing
from webapp.store import look_backs, results


def test_a_failed_check_puts_no_history_in_doubt(bench, app):
    with app.test_request_context():
        importing.take_in(bench)
    before = list(bench.db.query("SELECT batch_id, verdict, meter_state FROM batch_result ORDER BY batch_id"))
    assert len(before) == 2
    failed = bench.check([61.5, 61.4, 61.5])
    assert failed.id not in look_backs.open_checks(bench.db)
    assert list(bench.db.query("SELECT batch_id, verdict, meter_state FROM batch_result ORDER BY batch_id")) == before
    assert results.rebuild(bench.db) == []


def test_what_was_read_at_the_bench_is_in_doubt_all_the_same(bench, app):
    batch = bench.batch("A-1")
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1], at=bench.now.replace(microsecond=0))
    with app.test_request_context():
        importing.take_in(bench)
    failed = bench.check([61.5, 61.4, 61.5])
    assert look_backs.open_checks(bench.db) == [failed.id]
    assert results.get_batch_result(bench.db, batch.id).meter_state == "doubted"
    assert results.rebuild(bench.db) == []
