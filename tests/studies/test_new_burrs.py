"""New burrs in the only grinder: the same coffees on the old ones and then on the new ones."""

import uuid

from tests.support.comparing import COFFEES, read
from tests.support.roastery import later
from webapp.store import compared, comparisons, gear, grinder_log
from webapp.store.times import to_text
from webapp.store.who import SYSTEM
from webapp.studies import service


def test_the_mark_of_new_burrs_ends_with_a_comparison_of_before_and_after(bench, sign_in):
    client = sign_in("lead")
    bench.now = later(bench.now, hours=-4)
    new = gear.add_grinder_setting(bench.db, bench.grinder, "7 on the new burrs", SYSTEM, bench.now)
    answer = client.post("/comparisons/new/grinders", data={
        "id": str(uuid.uuid4()), "name": "New burrs", "method": bench.versions["ground"].id, "meter": bench.meter,
        "a_setting": bench.setting, "b_setting": new, "coffees": "\r\n".join(COFFEES), "fills": "1", "readings": "2",
        "bound": "0.75", "in_turn": "y",
    })  # fmt: skip
    assert answer.status_code == 303, answer.text
    [there] = comparisons.list_comparisons(bench.db)
    assert there.in_turn
    for no in range(1, 13):
        assert service.progress(bench.db, there).next[1] == "a"
        coffee = service.progress(bench.db, there).next[0]
        read(bench, there, coffee.no, "a", [50.0 + no, 50.1 + no])
    bench.now = later(bench.now, hours=1)
    change = to_text(bench.now)
    grinder_log.add_event(bench.db, str(uuid.uuid4()), bench.grinder, "burrs", None, "", bench.who(), bench.now)
    bench.now = later(bench.now, hours=1)

    def marked():
        return grinder_log.burrs_state(bench.db, new, to_text(bench.now))

    assert marked() == "burrs"
    for no in range(1, 13):
        assert service.progress(bench.db, there).next[1] == "b"
        read(bench, there, no, "b", [51.0 + no, 51.1 + no])
    outcome = compared.NewOutcome(str(uuid.uuid4()), there.id, "carry", 12, 1.0, 0.1, "By the same on all coffees.")
    compared.add_outcome(bench.db, outcome, [], "", bench.who("lead"), bench.now)
    bench.now = later(bench.now, minutes=1)
    assert marked() is None
    # What was ground between the change and the outcome keeps its mark.
    assert grinder_log.burrs_state(bench.db, new, change) == "burrs"
