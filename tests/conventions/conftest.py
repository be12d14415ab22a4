"""Every page there is, with something on it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from flask import Flask
from werkzeug.routing import AnyConverter, Rule

from tests.conventions.addresses import address
from tests.conventions.source import rules
from tests.store import worked
from tests.support import comparing, importing, studying
from tests.support.roastery import Roastery

DAY = "2026-05-14"


@pytest.fixture
def value_of(bench: Roastery) -> Callable[[Rule, str], object]:
    """Ids of records that are there, by the name of a route's parameter."""
    ids = worked.work(worked.on(bench.db, bench, datetime(2026, 5, 14, 9, 0, tzinfo=UTC)))
    named = {
        "batch_id": ids["batch"], "sample_id": ids["sample"], "product_id": bench.product, "day": DAY, "month": DAY[:7],
        "machine_id": bench.machine, "meter_id": bench.meter, "grinder_id": bench.grinder,
        "method_id": bench.methods["whole"], "person_id": bench.people["trainee"], "tablet_id": bench.tablet,
        "claim_id": ids["person_claim"], "check_id": ids["meter_check"], "comparison_id": ids["comparison"],
        "study_id": ids["precision_study"], "sign_off_id": ids["signed_off"], "blend_id": ids["blend"],
        "key_id": ids["api_token"],
        "filename": "css/base.css", "build": "0" * 12, "fill_no": 1, "reading_no": 1, "no": 1,
    }  # fmt: skip
    kinds = {
        "machine": bench.machine, "meter": bench.meter, "grinder": bench.grinder, "method": bench.methods["whole"],
    }  # fmt: skip

    # What is concluded is not read any more.
    begun, studied = comparing.plan(bench), studying.plan(bench)
    draft = importing.begin(bench, *importing.ROWS, *importing.BAD)
    # Of what trends have, what was said of one kind: it has no other.
    [noted] = bench.db.query("SELECT batch_id, kind, side FROM signal_note")
    watched = {"batch_id": noted["batch_id"], "kind": noted["kind"], "toward": noted["side"]}

    def value(rule: Rule, name: str) -> object:
        if rule.endpoint == "studies.read" and name == "comparison_id":
            return begun.id
        if rule.endpoint == "studies.read_fill" and name == "study_id":
            return studied.id
        if rule.endpoint.startswith("trends.") and name in watched:
            return watched[name]
        if name == "draft_id":
            return ids["import_run"] if rule.endpoint == "exchange.import_run" else draft
        if name == "record_id":
            return kinds[sorted(rule._converters["kind"].items)[0]]
        if isinstance(rule._converters[name], AnyConverter):
            return None
        return named[name]

    return value


@pytest.fixture
def pages(app: Flask, value_of: Callable) -> dict[str, str]:
    """endpoint -> the address of every page (of every route that answers GET), with something on it."""
    return {rule.endpoint: address(app, rule, value_of) for rule, method in rules(app) if method == "GET"}
