"""The same records from several server processes at once: every one of them is stored once."""

import multiprocessing

from tests.conftest import SECRET
from tests.support.outbox import OWN, claim_record, decision_record, roast
from tests.support.pages import CheckingClient
from webapp.store import ledger, results, sessions

PROCESSES, ROUNDS = 4, 3


def send_all(path, cookies, bodies, start, said):
    """One worker of the server: takes the lists as they come, all at the same moment as the others."""
    from webapp import create_app
    from webapp.config import Config

    app = create_app(Config(database=path, secret_key=SECRET, testing=True))
    app.config["WTF_CSRF_ENABLED"] = False
    app.test_client_class = CheckingClient
    client = app.test_client()
    for name, value in cookies.items():
        client.set_cookie(name, value)
    start.wait()
    answers = [client.post("/records", json=body, headers=OWN) for _ in range(ROUNDS) for body in bodies]
    said.put([(a.status_code, [r["status"] for r in a.get_json()["results"]]) for a in answers])


def test_it_stores_once_what_four_processes_take_at_the_same_time__T02(bench, path, app):
    """The race in which both look, neither finds, and both store: the look and the write are one transaction."""
    lists = []
    for n in range(5):
        records = [*roast(bench), claim_record(bench, "lead")]
        records.append(decision_record(bench, records[0]["id"], "hold", f"list {n}"))
        lists.append({"records": records})
    token = sessions.start_session(bench.db, bench.people["roaster"], bench.tablet, 12, bench.now)
    cookies = {"tablet": bench.tablet_secret, "person": token}
    fresh = multiprocessing.get_context("spawn")
    start, said = fresh.Barrier(PROCESSES), fresh.Queue()
    # Each begins with another list, so that every pair meets somewhere.
    workers = [
        fresh.Process(target=send_all, args=(path, cookies, lists[n:] + lists[:n], start, said))
        for n in range(PROCESSES)
    ]
    for worker in workers:
        worker.start()
    answers = [answer for _ in workers for answer in said.get(timeout=180)]
    for worker in workers:
        worker.join(60)
    assert [worker.exitcode for worker in workers] == [0] * PROCESSES
    assert answers == [(200, [200] * 5)] * (PROCESSES * ROUNDS * len(lists))
    counts = {
        table: bench.db.conn.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
        for table in ("batch", "sample", "reading", "decision", "person_claim")
    }
    assert counts == {"batch": 5, "sample": 10, "reading": 30, "decision": 5, "person_claim": 5}
    assert list(ledger.faults(bench.db)) == []
    assert results.rebuild(bench.db) == []
