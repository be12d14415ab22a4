"""Every route says who may open it; here stands what each of them should say, so that a change needs a thought."""

import re

import pytest
from flask import g
from werkzeug.routing import AnyConverter, IntegerConverter, PathConverter, UUIDConverter

from tests.conftest import application
from tests.conventions.addresses import address
from tests.conventions.source import rules
from tests.support.roastery import later
from webapp.store import sessions
from webapp.ui.access import LEVELS, PROGRAM, open_to

# endpoint -> (least role, whether the PIN is asked for again, methods)
READ, WRITE, BOTH = {"GET"}, {"POST"}, {"GET", "POST"}
EXPECTED = {
    # Before anybody is known: to get in at all, and what a page is made of.
    "static": ("anyone", False, READ),
    "manifest": ("anyone", False, READ),
    "earlier_static": ("anyone", False, READ),
    # What a tablet keeps to open without the server: nobody's, and empty.
    "worker": ("anyone", False, READ),
    "shell.shell": ("anyone", False, READ),
    "shell.form": ("anyone", False, READ),
    "shell.offline": ("anyone", False, READ),
    "outbox.waiting": ("anyone", False, READ),
    # How a tablet learns to trust the site's own authority: before it does.
    "upkeep.trust": ("anyone", False, READ),
    "upkeep.authority_certificate": ("anyone", False, READ),
    "people.setup": ("anyone", False, BOTH),
    "people.enrol": ("anyone", False, BOTH),
    # An enrolled tablet: say who you are, lock; and the screen on the wall, which belongs to nobody.
    "people.sign_in": ("tablet", False, BOTH),
    "people.confirm": ("tablet", False, BOTH),
    "people.lock": ("tablet", False, WRITE),
    "people.stay": ("tablet", False, WRITE),
    "strip.wall": ("tablet", False, READ),
    # Anybody who works here: measure, and look at everything that was measured and by what.
    "strip.today": ("trainee", False, READ),
    "strip.day": ("trainee", False, READ),
    "strip.find_day": ("trainee", False, READ),
    "blends.index": ("trainee", False, READ),
    "blends.show": ("trainee", False, READ),
    "bench.new_batch": ("trainee", False, BOTH),
    "bench.capture": ("trainee", False, BOTH),
    "bench.result": ("trainee", False, READ),
    "bench.batch": ("trainee", False, READ),
    "bench.find": ("trainee", False, READ),
    # Practice stores nothing.
    "practice.choose": ("trainee", False, READ),
    "practice.sample": ("trainee", False, BOTH),
    "people.me": ("trainee", False, BOTH),
    "people.own_pin": ("trainee", False, BOTH),
    "people.progress": ("trainee", False, READ),
    "targets.products": ("trainee", False, READ),
    "targets.product": ("trainee", False, READ),
    "gear.index": ("trainee", False, READ),
    "gear.machine": ("trainee", False, READ),
    "gear.meter": ("trainee", False, READ),
    "gear.check": ("trainee", False, BOTH),
    "gear.check_result": ("trainee", False, READ),
    "gear.drift": ("trainee", False, READ),
    "gear.look_backs": ("trainee", False, READ),
    "gear.look_back": ("trainee", False, READ),
    "gear.grinder": ("trainee", False, READ),
    "gear.methods": ("trainee", False, READ),
    "gear.method": ("trainee", False, READ),
    "gear.method_version": ("trainee", False, READ),
    "gear.compare_versions": ("trainee", False, READ),
    "studies.comparisons": ("trainee", False, READ),
    "studies.comparison": ("trainee", False, READ),
    "studies.read": ("trainee", False, BOTH),
    "decisions.waiting": ("trainee", False, READ),
    "trends.index": ("trainee", False, READ),
    "trends.product": ("trainee", False, READ),
    "trends.trend": ("trainee", False, READ),
    "trends.together": ("trainee", False, READ),
    "trends.by_month": ("trainee", False, READ),
    "trends.month": ("trainee", False, READ),
    # The record of a batch and a day for the next shift: what their own screens show, on paper.
    "sheets.record": ("trainee", False, READ),
    "sheets.day": ("trainee", False, READ),
    "trends.against_loss": ("trainee", False, READ),
    # What a lead may take over with the form of the targets, which asks for the PIN; nothing changes here.
    "trends.band_from_history": ("roaster", False, READ),
    "trends.signal": ("trainee", False, READ),
    # Whose readings disagreed how often: each their own, a lead everybody's (tests/studies/test_routine.py).
    "studies.routine": ("trainee", False, READ),
    "studies.index": ("trainee", False, READ),
    "studies.precision_studies": ("trainee", False, READ),
    "studies.precision_study": ("trainee", False, READ),
    # The view lets only a lead look while it is open: tests/studies/test_precision_result.py.
    "studies.precision_result": ("trainee", False, READ),
    "studies.read_fill": ("trainee", False, BOTH),
    "studies.sign_offs": ("trainee", False, READ),
    # The view lets nobody but a lead see it before it is concluded, and then the two who read.
    "studies.sign_off_of": ("trainee", False, READ),
    # A tablet that works without a network: its outbox, its kit, a token to send with; and a PIN for a claim.
    "sync.take_records": ("trainee", False, WRITE),
    "sync.kit": ("trainee", False, READ),
    "sync.csrf": ("tablet", False, READ),
    "sync.confirm": ("tablet", False, WRITE),
    # Signed off: decide what becomes of a batch, correct a reading.
    "decisions.decide": ("roaster", False, WRITE),
    "decisions.release": ("roaster", False, WRITE),
    "decisions.newest": ("roaster", False, READ),
    "blends.plan": ("roaster", False, READ),
    "bench.countersign": ("roaster", False, WRITE),
    "decisions.reason": ("roaster", False, READ),
    # What leaves the house: somebody signed off chooses what it shows.
    "sheets.choose": ("roaster", False, READ),
    "sheets.copy": ("roaster", False, READ),
    "sheets.choose_month": ("roaster", False, READ),
    "sheets.month": ("roaster", False, READ),
    "corrections.correct": ("roaster", False, BOTH),
    "corrections.move": ("roaster", False, BOTH),
    # Code, product, machine and time are a lead's: tests/corrections/test_correct_facts.py.
    "corrections.facts": ("roaster", False, BOTH),
    "trends.note": ("roaster", False, WRITE),
    "gear.grinder_log": ("roaster", False, BOTH),
    "gear.grind_check": ("roaster", False, BOTH),
    "gear.hold_sample": ("roaster", False, BOTH),
    # A lead: what everybody else is measured by. To look is one thing, to change it takes the PIN again.
    # Names and notes leave the house.
    "upkeep.status": ("lead", False, READ),
    "exchange.choose": ("lead", True, READ),
    "exchange.take": ("lead", True, READ),
    "blends.store_plan": ("lead", True, WRITE),
    "blends.carry_out": ("lead", True, WRITE),
    "exchange.columns": ("lead", False, READ),
    # Older batches from a file: nothing is stored before the last step, which asks for the PIN.
    "exchange.take_in": ("lead", False, BOTH),
    "exchange.import_columns": ("lead", False, BOTH),
    "exchange.import_numbers": ("lead", False, BOTH),
    "exchange.import_preview": ("lead", False, READ),
    "exchange.import_refused": ("lead", False, READ),
    "exchange.import_take": ("lead", True, WRITE),
    "exchange.import_give_up": ("lead", False, WRITE),
    "exchange.import_run": ("lead", False, READ),
    "api.show_keys": ("lead", True, BOTH),
    "api.revoke_key": ("lead", True, WRITE),
    # With a key that a lead has made, and without anybody: tests/api/test_open_with_key.py.
    "api.about": (PROGRAM, False, READ),
    "api.description": (PROGRAM, False, READ),
    "api.list_batches": (PROGRAM, False, READ),
    "api.get_batch": (PROGRAM, False, READ),
    "api.list_waiting": (PROGRAM, False, READ),
    "api.list_products": (PROGRAM, False, READ),
    "api.get_product": (PROGRAM, False, READ),
    "api.list_meters": (PROGRAM, False, READ),
    "api.get_meter": (PROGRAM, False, READ),
    "people.settings": ("lead", False, READ),
    "people.list_people": ("lead", False, READ),
    "people.tablets": ("lead", False, READ),
    "people.site": ("lead", True, BOTH),
    "people.new_person": ("lead", True, BOTH),
    "people.person": ("lead", True, BOTH),
    "people.new_pin": ("lead", True, BOTH),
    "people.unlock": ("lead", True, WRITE),
    "people.new_code": ("lead", True, WRITE),
    "people.revoke_tablet": ("lead", True, WRITE),
    "people.unlock_tablet": ("lead", True, WRITE),
    "targets.new_product": ("lead", True, BOTH),
    "targets.edit_targets": ("lead", True, BOTH),
    "targets.change_names": ("lead", True, BOTH),
    "gear.new_scale": ("lead", True, BOTH),
    "gear.new_meter": ("lead", True, BOTH),
    "gear.new_plate": ("lead", True, BOTH),
    "gear.rule": ("lead", True, BOTH),
    "gear.accept_sample": ("lead", True, BOTH),
    "gear.new_machine": ("lead", True, BOTH),
    "gear.new_grinder": ("lead", True, BOTH),
    "gear.new_setting": ("lead", True, WRITE),
    "gear.rename": ("lead", True, BOTH),
    "gear.set_use": ("lead", True, WRITE),
    "gear.new_method": ("lead", True, BOTH),
    "gear.edit_method": ("lead", True, BOTH),
    "gear.install_defaults": ("lead", True, WRITE),
    # What trends are judged by.
    "trends.baseline": ("lead", False, READ),
    "trends.freeze": ("lead", True, WRITE),
    "trends.give_up": ("lead", True, BOTH),
    "trends.rules": ("lead", False, READ),
    "trends.choose_rules": ("lead", True, WRITE),
    # A comparison: a lead plans it, knows which cup is which, sees both sides' numbers, and moves targets by it.
    "studies.choose": ("lead", True, READ),
    "studies.new_comparison": ("lead", True, BOTH),
    "studies.coffees": ("lead", False, READ),
    "studies.outcome": ("lead", False, READ),
    "studies.conclude": ("lead", True, WRITE),
    "studies.new_precision": ("lead", True, BOTH),
    "studies.conclude_precision": ("lead", True, WRITE),
    "studies.planner": ("lead", False, READ),
    "studies.apply_plan": ("lead", True, WRITE),
    "studies.new_sign_off": ("lead", True, BOTH),
    "studies.conclude_sign_off": ("lead", True, WRITE),
    "studies.change_sign_off": ("lead", True, BOTH),
}
# Forms that somebody sends whom nobody knows yet: each asks for a one-time code.
BEFORE_ENROLMENT = {"people.setup", "people.enrol"}
# Parameters that are plain text in the address, with who refuses what they must not be.
FREE_TEXT = {
    ("strip.day", "day"): "the view: nothing but a day is found",
    ("trends.month", "month"): "the view: nothing but a month is found",
    ("sheets.day", "day"): "the view: nothing but a day is found",
    ("sheets.month", "month"): "the view: nothing but a month is found",
    ("sheets.choose_month", "month"): "the view: nothing but a month is found",
    ("earlier_static", "build"): "the view: nothing but twelve hex digits is found",
}
TYPES = (UUIDConverter, IntegerConverter, AnyConverter)


def test_it_says_who_may_open_every_route(app):
    found = {}
    for rule, method in rules(app):
        view = app.view_functions[rule.endpoint]
        level, confirmed, methods = found.get(rule.endpoint, (view.open_to, view.confirmed, set()))
        found[rule.endpoint] = (level, confirmed, methods | {method})
    assert found == EXPECTED


def test_it_lets_nobody_write_from_a_device_that_is_not_enrolled(app):
    writing = {rule.endpoint for rule, method in rules(app) if method != "GET"}
    assert {endpoint for endpoint in writing if EXPECTED[endpoint][0] == "anyone"} == BEFORE_ENROLMENT


def test_it_answers_only_get_and_post(app):
    assert {method for _rule, method in rules(app)} == {"GET", "POST"}


def test_it_has_addresses_in_small_words_and_hyphens(app):
    for rule, _method in rules(app):
        plain = re.sub(r"<[^>]+>", "x", rule.rule)
        if rule.endpoint == "api.description":
            continue  # the name that the standard recommends for it (OpenAPI 3.1, 4.3): openapi.json
        plain = plain.removeprefix(app.static_url_path) if rule.endpoint == "static" else plain
        assert re.fullmatch(r"/|(/[a-z0-9]+(-[a-z0-9]+)*)+(\.webmanifest|\.js)?", plain), rule.rule
        for name, converter in rule._converters.items():
            if isinstance(converter, AnyConverter):
                assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", item) for item in converter.items), (rule.rule, name)


def test_it_has_a_type_for_every_parameter(app):
    free = set()
    for rule, _method in rules(app):
        for name, converter in rule._converters.items():
            if rule.endpoint in ("static", "earlier_static") and name == "filename":
                assert isinstance(converter, PathConverter)
            elif not isinstance(converter, TYPES):
                free.add((rule.endpoint, name))
    assert free == set(FREE_TEXT)


@pytest.mark.parametrize("day", ["nonsense", "2026-02-30", "2026-5-1", "20260514", "2026-05-14T00:00", "2026-W20-4"])
def test_it_finds_nothing_under_what_is_no_day(sign_in, day):
    assert sign_in("trainee").get(f"/days/{day}").status_code == 404


class Somebody:
    """A level of access, and a client that has it."""

    def __init__(self, level, confirmed, client):
        self.level, self.confirmed, self.client = level, confirmed, client

    def may(self, level, confirmed):
        """Whether they should come in."""
        if level == PROGRAM:
            return False
        enough = LEVELS.index(self.level) >= LEVELS.index(level)
        return enough and (not confirmed or self.confirmed)


@pytest.fixture
def everybody(app, bench):
    """One client for every level. A lead twice: the PIN entered just now, and half an hour ago."""
    made = [Somebody("anyone", False, app.test_client())]
    for level, confirmed in [
        ("tablet", False), ("trainee", True), ("roaster", True), ("lead", False), ("lead", True)
    ]:  # fmt: skip
        # A tablet each: a sign-in ends what was open on its tablet.
        tablet, secret = sessions.enrol_tablet(bench.db, f"{level} {confirmed}", bench.who("lead"), bench.now)
        client = app.test_client()
        client.set_cookie("tablet", secret)
        if level != "tablet":
            token = sessions.start_session(bench.db, bench.people[level], tablet, 12, bench.now)
            client.set_cookie("person", token)
            if not confirmed:
                half_an_hour_ago = later(bench.now, minutes=-30)
                sessions.confirm_session(bench.db, sessions.hashed(token), half_an_hour_ago)
        made.append(Somebody(level, confirmed, client))
    return made


@pytest.fixture
def reached(app, monkeypatch):
    """Every view replaced by a mark: what is tested is the guard before it, and nothing is written."""
    reached = []
    for endpoint, view in list(app.view_functions.items()):

        def mark(endpoint=endpoint, **_values):
            reached.append(endpoint)
            return "in", 200, {"Content-Type": "text/plain"}

        monkeypatch.setitem(app.view_functions, endpoint, open_to(view.open_to, confirmed=view.confirmed)(mark))
    return reached


def turned_away(response, somebody, level, method):
    """Refused, or sent to the step that is missing: what a person who may not come in gets to see."""
    if response.status_code == 403:
        return True
    if response.status_code == 401:
        return response.mimetype in ("application/json", "application/problem+json")
    step = "/sign-in" if somebody.level == "tablet" else "/confirm"
    # A form cannot be sent on by a redirect: the PIN page comes at once, and carries it along (403).
    to_the_pin = response.status_code == 303 and response.location.startswith(f"{step}?next=")
    return to_the_pin and method != "POST" and somebody.level in ("tablet", "lead")


def test_it_lets_in_who_may_and_nobody_else(app, everybody, reached):
    """Every route and method, with ids that stand for nothing, by everybody from a stranger to a lead."""
    asked = 0
    heads = [(rule, "HEAD") for rule, method in rules(app) if method == "GET"]
    for rule, method in [*rules(app), *heads]:
        level, confirmed, _methods = EXPECTED[rule.endpoint]
        path = address(app, rule)
        for somebody in everybody:
            reached.clear()
            response = somebody.client.open(path, method=method)
            who = f"{method} {path} by {somebody.level}, confirmed: {somebody.confirmed}"
            if somebody.may(level, confirmed):
                assert reached == [rule.endpoint], who
            else:
                assert reached == [], who
                assert turned_away(response, somebody, level, method), (who, response.status_code)
            asked += 1
    assert asked > 6 * len(EXPECTED)


def test_it_gives_a_device_that_is_not_enrolled_nothing_but_the_listed_pages(app, bench):
    """The real views this time: what a stranger on the same network gets to see."""
    stranger = app.test_client()
    seen = {}
    for rule, method in rules(app):
        if method == "GET":
            with stranger.get(address(app, rule)) as response:
                seen[rule.endpoint] = response.status_code
    listed = {endpoint for endpoint, (level, *_rest) in EXPECTED.items() if level == "anyone"}
    assert {e for e, status in seen.items() if status not in (401, 403)} == listed
    assert {e for e, status in seen.items() if status == 401} == {e for e in EXPECTED if EXPECTED[e][0] == PROGRAM}
    # The set-up page has closed itself: the bench has people.
    assert seen["people.setup"] == 404


def test_it_shows_a_stranger_no_name_and_no_number(app, bench):
    """Not enrolled: the page says what to do, and nothing about the people or the coffee."""
    batch = bench.batch("0514-01")
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1])
    for path in ("/", "/wall", f"/batches/{batch.id}", f"/batches/{batch.id}/result", "/people", "/batches"):
        text = app.test_client().get(path).get_data(as_text=True)
        for secret in ("Ada", "Ravi", "Tomas", "Lantern House", "0514-01", "56.2"):
            assert secret not in text, (path, secret)


def test_it_breaks_at_once_when_a_route_does_not_say_who_may_open_it(path):
    app = application(path)
    app.add_url_rule("/forgotten", "forgotten", lambda: "open to the world")
    with pytest.raises(RuntimeError, match="forgotten does not say who may open it"):
        app.test_client().get("/forgotten")


def test_it_refuses_a_level_that_is_none():
    with pytest.raises(ValueError):
        open_to("everyone")


def test_it_forgets_the_person_between_requests(app, everybody):
    """What the guard found for one request is not there in the next."""
    lead, stranger = everybody[-1], everybody[0]
    assert lead.client.get("/settings").status_code == 200
    assert stranger.client.get("/settings").status_code == 403
    with app.test_request_context("/"):
        assert "session" not in g
