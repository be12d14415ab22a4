"""What the tablet works out about a batch by itself is what the server works out, to 1e-9 and to the word."""

import math
import random
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from tests.browser.test_offline_same_pages import record_of
from tests.support.offline import Place, prepare
from webapp.store import gear, methods, products, results
from webapp.store.products import TargetBand
from webapp.store.results import BatchResult
from webapp.ui import verdict_words

MODULES = """const base = document.querySelector("script[src$='app.mjs']").src.replace("app.mjs", "offline/");"""
WORK_OUT = f"""async (batches) => {{
  {MODULES}
  const {{ lastKit }} = await import(base + "kit.mjs");
  const {{ workOut }} = await import(base + "standing.mjs");
  const kit = await lastKit();
  return batches.map(([product, records]) => workOut(kit, product, records));
}}"""
SAY = f"""async ([words, cases]) => {{
  {MODULES}
  const {{ Sentences }} = await import(base + "parts.mjs");
  const {{ batchWords, partWord }} = await import(base + "verdict-words.mjs");
  const sentences = new Sentences(words);
  const partWords = (stands) => Object.values(stands?.parts ?? {{}}).map((part) => partWord(part, sentences));
  return cases.map((stands) => [batchWords(stands, sentences), partWords(stands)]);
}}"""
NUMBERS = {
    "value": "value", "u": "u", "fill_term": "fillTerm", "reading_term": "readingTerm", "step_term": "stepTerm",
    "meter_term": "meterTerm", "fills": "fills", "readings": "readings", "samples": "samples", "apart": "apart",
    "chance": "chance", "position": "position", "beyond": "beyond", "settle_fills": "settleFills",
    "verdict": "verdict", "side": "side", "sigma_source": "sigmaSource", "sigma_r": "sigmaR", "sigma_f": "sigmaF",
    "readings_disagree": "readingsDisagree", "fills_disagree": "fillsDisagree",
}  # fmt: skip


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


def alike(a, b) -> bool:
    if isinstance(a, float) or isinstance(b, float):
        return a is not None and b is not None and math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9)
    return (a or 0) == (b or 0) if isinstance(b, bool) else a == b


def products_of(bench) -> list[tuple[str, str]]:
    """(product, meter) of products with every kind of target, on both scales, and one without."""
    who, now = bench.who("lead"), bench.now
    second = gear.add_meter(bench.db, "Meter D", bench.scale, "Plate 4", 6000, 50, who, now)
    found = [(bench.product, bench.meter), (bench.product, second)]
    for name, scale, meter, rule, bands in (
        ("One limit", bench.flipped, bench.flipped_meter, "guarded", [TargetBand("ground", None, 4000, 4300)]),
        ("Simple", bench.scale, bench.meter, "simple", [TargetBand("whole", 5450, 5600, 5750)]),
        ("Ground only", bench.scale, second, "guarded", [TargetBand("ground", 5950, 6100, None)]),
        ("Difference", bench.scale, bench.meter, "guarded", [TargetBand("difference", 300, 450, 600)]),
    ):
        made = products.add_product(
            bench.db, name, name[:4], scale, rule, 0.9, bench.methods["whole"], bench.methods["ground"], bands, who, now
        )
        found.append((made, meter))
    return found


def made_up(bench, draw) -> list[tuple[str, str, list]]:
    """Batches with samples of made-up readings: (batch, product, samples)."""
    found, choices = [], products_of(bench)
    # Some of it ground at another setting than the method's: shown, never judged, apart from what is ground as it says.
    other = gear.add_grinder_setting(bench.db, bench.grinder, "9", bench.who("lead"), bench.now)
    for _ in range(60):
        product, meter = draw.choice(choices)
        batch = bench.batch(product=product)
        taken = []
        for kind in draw.choice((("whole", "ground"), ("ground", "whole"), ("whole",), ("ground", "ground", "whole"))):
            middle = 41 if meter == bench.flipped_meter else {"whole": 56, "ground": 61}[kind]
            middle += draw.uniform(-4, 4)
            fills = []
            for _fill in range(draw.choice((1, 1, 2, 3))):
                spread = draw.choice((0.05, 0.4, 1.5))
                fills.append([round(middle + draw.gauss(0, spread), 1) for _ in range(draw.choice((1, 3, 3, 4)))])
            setting = draw.choice((None, None, other)) if kind == "ground" else None
            taken.append(bench.sample(batch.id, kind, *fills, meter=meter, setting=setting))
            # A sample is worked out with what is known of its method when it is stored: here that stays the same.
            bench.db.conn.execute("DELETE FROM method_spread")
        found.append((batch.id, product, taken))
    return found


def test_it_works_out_sixty_batches_as_the_server_does(bench, place, tablet):
    made = made_up(bench, random.Random(7))
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    given = [(product, [record_of(s, bench, "roaster") for s in taken]) for _batch, product, taken in made]
    found = page.evaluate(WORK_OUT, given)
    wrong, parts_seen = [], 0
    for (batch_id, _product, _taken), stands in zip(made, found, strict=True):
        parts, verdict = results.get_parts(bench.db, batch_id), results.get_batch_result(bench.db, batch_id)
        assert set(parts) == set(stands["parts"]), batch_id
        assert (verdict.verdict, list(verdict.missing)) == (stands["verdict"], stands["missing"])
        for kind, part in parts.items():
            parts_seen += 1
            own = stands["parts"][kind]
            wrong += [
                (batch_id, kind, name, getattr(part, name), own.get(twin))
                for name, twin in NUMBERS.items()
                if not alike(getattr(part, name), own.get(twin))
            ]
            assert (part.apart_why is not None) == bool(own["off"])
    assert wrong == []
    assert parts_seen > 100
    assert 5 < sum(bool(part["off"]) for stands in found for part in stands["parts"].values()) < parts_seen / 2


def stands_of(draw) -> tuple:
    """A made-up verdict with its parts, for Python and for the browser."""
    parts, given = {}, {}
    for kind in ("whole", "ground", "difference"):
        if draw.random() < 0.35:
            continue
        verdict = draw.choice((None, "inside", "undecided", "outside", "outside"))
        part = SimpleNamespace(
            kind=kind, verdict=verdict, side=draw.choice(("lighter", "darker")), U=draw.uniform(0.01, 3),
            beyond=draw.choice((draw.uniform(-3, 3), draw.uniform(-0.04, 0.04))), chance=draw.random(),
            settle_fills=draw.choice((None, 2, 4)), fills=1, apart_why=None,
        )  # fmt: skip
        if kind == "ground" and draw.random() < 0.2:
            part.verdict, part.apart_why = None, "setting"
        parts[kind] = part
        given[kind] = {**part.__dict__, "settleFills": part.settle_fills, "scale": {"step": 0.1}}
        given[kind]["off"] = {"at": "9", "asked": "7"} if part.apart_why else None
    verdict = draw.choice(("inside", "undecided", "outside", "incomplete", "unjudged"))
    if verdict in ("undecided", "outside") and not any(p.verdict == verdict for p in parts.values()):
        verdict = "unjudged"
    missing = draw.sample(("whole", "ground", "difference"), draw.randint(1, 3) if verdict == "incomplete" else 0)
    chance = draw.choice((draw.random(), 0.9996, 0.996, 1.0))
    return (
        (BatchResult("b", verdict, chance, tuple(missing)), parts),
        {"verdict": verdict, "chance": chance, "missing": missing, "parts": given},
    )


def ground_at(parts) -> tuple[str, str] | None:
    """As the result page finds it."""
    return ("9", "7") if "ground" in parts and parts["ground"].apart_why else None


def test_it_says_a_thousand_verdicts_in_the_same_words(app, bench, place, tablet):
    from webapp.shell.words import words

    draw = random.Random(8)
    cases = [stands_of(draw) for _ in range(1000)]
    page = tablet("roaster")
    page.goto(place.url)
    with app.test_request_context():
        told = words()
        expected = [
            [
                verdict_words.batch_words(result, parts, dict.fromkeys(parts, 0.1), ground_at(parts)).__dict__,
                [verdict_words.part_word(part) for part in parts.values()],
            ]
            for (result, parts), _given in cases
        ]
        nothing = verdict_words.batch_words(None, {}, {}).__dict__
    assert page.evaluate(SAY, [told, [given for _python, given in cases]]) == expected
    assert page.evaluate(SAY, [told, [None]]) == [[nothing, []]]


def test_it_still_knows_what_a_sample_was_read_with_when_that_has_been_replaced(bench, place, tablet):
    """A new version of the method, a meter out of use, and a kit that knows neither any more."""
    batch = bench.batch()
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    sample = bench.sample(batch.id, "whole", [56.1, 56.4, 56.1])
    who, old = bench.who("lead"), bench.versions["whole"]
    methods.add_version(bench.db, old.method_id, "new dish", 5, 1, None, old.steps, "more readings", who, bench.now)
    gear.add_meter(bench.db, "Meter D", bench.scale, "Plate 4", 6000, 50, who, bench.now)
    gear.retire(bench.db, "meter", bench.meter, who, bench.now)
    kit = page.evaluate(RENEWED)
    assert old.id not in [m["version_id"] for m in kit["methods"]]
    assert bench.meter not in [m["id"] for m in kit["meters"]]
    [stands] = page.evaluate(WORK_OUT, [[bench.product, [record_of(sample, bench, "roaster")]]])
    part = results.get_parts(bench.db, batch.id)["whole"]
    assert stands["parts"]["whole"]["value"] == pytest.approx(part.value, abs=1e-9)
    assert stands["parts"]["whole"]["u"] == pytest.approx(part.u, abs=1e-9)


RENEWED = f"""async () => {{
  {MODULES}
  const {{ lastKit, renew }} = await import(base + "kit.mjs");
  await renew("a batch that no kit knows");
  return lastKit();
}}"""
ZONES = ("Europe/Vienna", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC")
TIMES = f"""async (cases) => {{
  {MODULES}
  const {{ clock, day, moment }} = await import(base + "parts.mjs");
  return cases.map(([date, time, zone]) => {{
    const at = moment(date, time, zone);
    return [at.toISOString(), day(at, zone), clock(at, zone)];
  }});
}}"""


@pytest.mark.parametrize("older", [False, True])
def test_it_reckons_with_the_sites_time_as_python_does(place, tablet, older):
    """Days on which clocks are changed among them: skipped hours, and hours that come twice (IANA time zones).

    Also in an older browser, without Temporal.
    """
    draw = random.Random(9)
    changes = [("2026-03-29", "02:30"), ("2026-10-25", "02:30"), ("2026-04-05", "01:45"), ("2026-10-04", "02:10")]
    cases = [(date, time, zone) for date, time in changes for zone in ZONES]
    for _ in range(1000):
        on = datetime(2020, 1, 1) + timedelta(minutes=draw.randrange(10 * 366 * 1440))
        cases.append((f"{on:%Y-%m-%d}", f"{on:%H:%M}", draw.choice(ZONES)))
    page = tablet("roaster")
    page.goto(place.url + "/me")
    assert page.evaluate("older => older ? delete globalThis.Temporal : 'Temporal' in globalThis", older)
    found = page.evaluate(TIMES, [list(case) for case in cases])
    for (date, time, zone), (iso, day, clock) in zip(cases, found, strict=True):
        local = datetime.fromisoformat(f"{date}T{time}").replace(tzinfo=ZoneInfo(zone))
        utc = local.astimezone(UTC)
        assert iso == f"{utc:%Y-%m-%dT%H:%M}:00.000Z", (date, time, zone)
        there = utc.astimezone(ZoneInfo(zone))
        assert (day, clock) == (f"{there:%Y-%m-%d}", f"{there:%H:%M}"), (date, time, zone)
