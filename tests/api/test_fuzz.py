"""Whatever may be asked by the description, and much that may not: no answer breaks, and each is as it is described.

Schemathesis makes the requests, from the document that the app serves itself. It comes with the extra `fuzz`
(tests/run.py --long installs it); without it these tests are skipped.
"""

import random

import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import seed as seeded

schemathesis = pytest.importorskip("schemathesis", reason="pip install -e '.[fuzz]'")

from schemathesis import checks as known  # noqa: E402
from schemathesis.core.failures import FailureGroup  # noqa: E402

SHORT, LONG = 6, 150
# One that cannot hold here: a cursor that is a text as described need not be a place in a list (400).
NOT_HERE = {"positive_data_acceptance"}


def checks():
    """Every check that the library has, but those above."""
    known.load_all_checks()
    return [check for check in known.CHECKS.get_all() if check.__name__ not in NOT_HERE]


def fuzz(app, program, examples, seed):
    """Ask every operation `examples` times in each of its ways; returns how many requests that were."""
    head = {"Authorization": f"Bearer {program.key}"}
    schema = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", app, headers=head)
    wanted, asked = checks(), 0
    for made in schema.get_all_operations():
        operation = made.ok()
        for mode in (schemathesis.GenerationMode.POSITIVE, schemathesis.GenerationMode.NEGATIVE):
            asked += one(operation, mode, wanted, head, examples, seed)
    return asked


def one(operation, mode, wanted, head, examples, seed):
    """One operation in one way."""
    asked, tried = [], []

    @seeded(seed)
    @settings(
        max_examples=examples, deadline=None, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(case=operation.as_strategy(generation_mode=mode))
    def ask(case):
        # An empty list is no parameter at all once it is written into an address.
        assume(not any(value in ([], {}) for value in (case.query or {}).values()))
        tried.append(case.as_transport_kwargs())
        response = case.call(headers=head)
        asked.append(response.status_code)
        case.validate_response(response, checks=wanted, headers=head)

    try:
        ask()
    except FailureGroup as group:
        raise AssertionError("\n".join([repr(tried[-1]), *map(str, group.exceptions)])) from group
    except Exception as problem:
        if "Unsatisfiable" in type(problem).__name__ or "Unsatisfiable" in str(problem):
            return 0  # an operation without parameters cannot be asked wrongly
        raise
    return len(asked)


def test_it_answers_as_described_whatever_is_asked(app, program, busy):
    """A few seconds of it."""
    assert fuzz(app, program, SHORT, 1) >= 7 * SHORT


@pytest.mark.long
def test_it_answers_as_described_whatever_is_asked_for_long(app, program, bench, busy, record_property):
    seed = random.SystemRandom().randrange(2**32)
    record_property("seed", seed)
    bench.db.conn.execute("INSERT OR IGNORE INTO batch_waiting SELECT id, 'hold' FROM batch")
    assert fuzz(app, program, LONG, seed) >= 7 * LONG
