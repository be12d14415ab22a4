"""Every page, by day and by night, on a tablet and on a phone: axe finds nothing, and a glove hits every target."""

from __future__ import annotations

import json
import re

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.store import worked
from tests.support import blending, comparing, importing, studying
from tests.support.browser import SIZES
from tests.support.roastery import later
from webapp.store import comparisons, decisions, signal_notes

# Pages that need ids; the rest of the route table is walked by itself.
UNVISITED = {
    "static",
    "manifest",
    "earlier_static",
    "exchange.take",  # a file
    "decisions.newest",  # for a script
    "exchange.import_refused",  # another one
    "upkeep.authority_certificate",  # and one that this bench has not
    "people.setup",  # closed once there is a person: tests/people looks at it
}

SMALL = """() => {
  const small = [];
  const seen = (e) => e.checkVisibility({visibilityProperty: true, opacityProperty: true});
  for (const e of document.querySelectorAll("a[href], button, input, select, textarea, summary")) {
    if (!seen(e) || e.type === "hidden" || e.closest(".skip")) continue;
    // A form's first button for the Enter key alone: nobody sees, hears or reaches it.
    if (e.ariaHidden === "true" && e.tabIndex === -1) continue;
    // A mark of a picture, where the same link stands at full size elsewhere on the page.
    const same = `main a[href="${CSS.escape(e.getAttribute("href") || "")}"]`;
    const twins = () => [...document.querySelectorAll(same)].some((a) => !a.closest("svg"));
    if (e.closest("svg") && e.tabIndex === -1 && twins()) continue;
    const target = /^(checkbox|radio|file)$/.test(e.type) ? e.closest("label") || e : e;
    const box = target.getBoundingClientRect();
    if (box.width < 43.5 || box.height < 43.5)
      small.push(`${e.outerHTML.slice(0, 120)} ${Math.round(box.width)}x${Math.round(box.height)}`);
  }
  const wide = document.documentElement.scrollWidth - innerWidth;
  if (wide > 1) small.push(`the page is ${wide} px wider than the screen`);
  return small;
}"""


def sign_off_pages(bench):
    """One that is concluded, and one that is being read."""
    ground = bench.versions["ground"]
    own = comparisons.NewSide(bench.meter, ground.id, ground.grinder_setting_id, bench.people["lead"])
    signed = comparing.plan_people(bench, 6)
    reading = comparing.plan_people(bench, 6, "ground", name="Tomas, ground", a=own)
    for no in range(1, 7):
        comparing.read_for_sign_off(bench, signed, no, 50 + no, 50.2 + no)
    comparing.read(bench, reading, 1, "a", [61.0, 61.1], [61.0, 61.2])
    comparing.sign_off(bench, signed)
    return signed, reading


def watched(bench, out, half):
    """Frozen limits, a choice of rules, and notes on a signal: one open, one closed."""
    worked.watch(bench, half.id, out.id)
    said = signal_notes.NewNote(
        "n-1", bench.product, "whole", out.id, 1, "lighter", "unknown", "Looking.", "", False
    )
    signal_notes.add_note(bench.db, said, bench.who(), bench.now)


@pytest.fixture
def pages(app, bench) -> list[str]:
    """One address for every page of the route table."""
    out, half = bench.batch("T-OUT"), bench.batch("T-HALF")
    bench.sample(out.id, "whole", [59.5, 59.6, 59.5])
    to_sign = bench.batch("T-SIGN")
    bench.sample(to_sign.id, "whole", [56.0, 56.1, 56.0], role="trainee")
    bench.sample(to_sign.id, "ground", [61.0, 61.1, 61.0], role="trainee")
    sample = bench.sample(out.id, "ground", [64.5, 64.5, 64.6], at=later(bench.now, minutes=-1))
    bench.sample(half.id, "whole", [56.0, 56.1, 56.0])
    decisions.add_decision(bench.db, "d-1", out.id, "hold", "waits for the lead", bench.who("lead"), bench.now)
    check = bench.check([61.0, 61.1, 61.0], [60.0, 60.0, 60.1])
    # One comparison whose targets could move, one of ground coffee that is hardly begun.
    compared, begun = comparing.plan(bench, bound=50), comparing.plan(bench, kind="ground", name="Barely begun")
    dark_to_light = [44 + 2 * no for no in range(12)]
    comparing.read_all(bench, compared, dark_to_light, [value + 2 + value % 4 / 20 for value in dark_to_light])
    studied, settled = studying.plan(bench), studying.plan(bench, ["roaster"], 6, kind="whole", name="Roasters only")
    studying.read(bench, studied, 2, [61.1, 61.2])
    studying.accept(bench, settled)
    signed, reading = sign_off_pages(bench)
    watched(bench, out, half)
    carried_out = blending.one_of_each(bench)
    on_trial = blending.stored(bench, {b.id: 4000 for b in blending.both_sides(bench)}, "B-trial")
    with app.test_request_context():
        draft, run = importing.begin(bench, *importing.ROWS, *importing.BAD), importing.take_in(bench)
    values = {
        "blend_id": carried_out.id, "check_id": check.id, "draft_id": draft, "study_id": studied.id,
        "batch_id": out.id, "kind": "whole", "what": "concession", "sample_id": sample.id, "fill_no": 1,
        "reading_no": 1, "day": out.day, "month": out.day[:7], "product_id": bench.product,
        "person_id": bench.people["trainee"],
        "tablet_id": bench.tablet, "method_id": bench.methods["ground"], "meter_id": bench.meter,
        "scale_id": bench.scale, "no": 1, "machine_id": bench.machine, "grinder_id": bench.grinder,
        "version_id": bench.versions["ground"].id, "comparison_id": compared.id, "side": "a", "which": "meters",
        "sign_off_id": signed.id, "change": "renew", "toward": "lighter", "only": "capture",
    }  # fmt: skip
    found = [f"/batches/{half.id}/result", f"/batches/{half.id}/ground"]
    found += [f"/blends/new?product={bench.product}", f"/blends/{on_trial.id}"]
    found += [f"/studies/precision/{studied.id}/2", f"/studies/precision/{settled.id}"]
    found += [f"/studies/precision/{studying.with_everything(bench).id}/result"]
    found += [f"/comparisons/{reading.id}", f"/comparisons/{reading.id}/1/a"]
    found += [f"/batches/{to_sign.id}/result", f"/batches/{to_sign.id}", f"/studies/sign-offs/{reading.id}"]
    found += [f"/comparisons/{begun.id}", f"/comparisons/{begun.id}/outcome", f"/import/{run}"]
    worked.correct(bench)
    [moved] = bench.db.query("SELECT from_batch_id, to_batch_id FROM sample_move")
    found += [f"/batches/{moved['from_batch_id']}", f"/batches/{moved['to_batch_id']}/result"]
    adapter = app.url_map.bind("localhost")
    for rule in app.url_map.iter_rules():
        if "GET" not in rule.methods or rule.endpoint in UNVISITED or rule.rule.startswith("/api/"):
            continue
        values |= {"kind": "grinder" if rule.endpoint.startswith("gear.") else "whole", "record_id": bench.grinder}
        missing = rule.arguments - values.keys()
        assert not missing, f"{rule.endpoint} needs {missing}: add a value above"
        query = f"?day={out.day}" if rule.endpoint == "strip.find_day" else ""
        found.append(adapter.build(rule.endpoint, {name: values[name] for name in rule.arguments}) + query)
    return sorted(set(found))


def ready(page) -> None:
    """The page's own scripts have run: every module that the page names is loaded, and has had a moment."""
    page.wait_for_load_state("load")
    page.wait_for_timeout(150)


# Only what is wrong, as one text: all that axe has looked at is megabytes, which Playwright hands over slowly.
AXE = Axe().axe_script
RUN_AXE = "async ([part, options]) => JSON.stringify((await axe.run(part || document, options)).violations)"


def complaints(page, path: str, part: str = "", **options) -> list[str]:
    """What axe finds on the page that is open, or on a part of it."""
    if page.evaluate("typeof axe") == "undefined":
        page.evaluate(AXE)
    return [
        f"{path} axe {v['id']}: {v['help']}: {len(v['nodes'])} x {v['nodes'][0]['html'][:160]} "
        f"{v['nodes'][0].get('failureSummary')}"
        for v in json.loads(page.evaluate(RUN_AXE, [part, {"resultTypes": ["violations"], **options}]))
    ]


def looked_at(page, path: str, night: bool = True) -> list[str]:
    """By day everything, by night what differs: the colours."""
    page.emulate_media(color_scheme="light")
    found = complaints(page, path) + [f"{path} {text}" for text in page.evaluate(SMALL)]
    if not night:
        return found
    page.emulate_media(color_scheme="dark")
    return found + complaints(page, f"{path} (night)", runOnly=["color-contrast"])


# What the contrast of an element depends on besides day and night, remembered and then compared.
REMEMBER = """() => {
  window.remembered = new Map();
  for (const e of document.body.querySelectorAll("*")) window.remembered.set(e, %(look)s);
}"""
CHANGED = """() => {
  let many = 0;
  for (const e of document.body.querySelectorAll("*")) {
    const look = %(look)s;
    const changed = look !== "" && look !== window.remembered.get(e);
    e.toggleAttribute("data-changed", changed);
    many += changed;
  }
  return many;
}"""
LOOK = """(() => {
  if (!e.checkVisibility({visibilityProperty: true, opacityProperty: true})) return "";
  const s = getComputedStyle(e);
  return [s.fontSize, s.fontWeight, s.color, s.backgroundColor, s.backgroundImage, s.opacity, s.position].join();
})()"""
NEXT_FRAME = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"


def looked_at_on_a_phone(page, path: str) -> list[str]:
    """What may differ from the tablet, on which the page was looked at just now.

    The page is the same, and no script looks at the width but the strip's, which hears of a change. By day and night
    the contrast is looked at of whatever shows itself on the phone alone, or in another size, weight, colour or place
    there (axe asks more of small letters); it takes three quarters of axe's time, and of the rest nothing can differ.
    """
    page.emulate_media(color_scheme="light")
    page.evaluate(REMEMBER % {"look": LOOK})
    page.set_viewport_size(dict(zip(("width", "height"), SIZES["phone"], strict=True)))
    page.evaluate(NEXT_FRAME)
    path = f"{path} (phone)"
    changed = page.evaluate(CHANGED % {"look": LOOK})
    found = complaints(page, path, rules={"color-contrast": {"enabled": False}})
    found += [f"{path} {text}" for text in page.evaluate(SMALL)]
    for scheme in ("light", "dark") if changed else ():
        page.emulate_media(color_scheme=scheme)
        found += complaints(page, f"{path} ({scheme})", "[data-changed]", runOnly=["color-contrast"])
    return found


def test_it_finds_nothing_on_any_page_by_day_and_night_on_a_tablet_and_a_phone(address, tablet, pages):
    page = tablet("lead")
    found = []
    for path in pages:
        page.set_viewport_size(dict(zip(("width", "height"), SIZES["tablet"], strict=True)))
        answer = page.goto(address + path)
        if not answer or not (answer.headers.get("content-type") or "").startswith("text/html"):
            continue
        assert answer.status < 400, (path, answer.status)
        ready(page)
        found += looked_at(page, path) + looked_at_on_a_phone(page, path)
    assert not found, "\n".join(found)


def test_it_sees_on_a_phone_what_only_a_phone_shows_or_shows_smaller(address, tablet):
    """The look itself: each of these is there on a phone alone."""
    page = tablet("lead")
    page.goto(address + "/products")
    ready(page)
    assert looked_at(page, "before", night=False) + looked_at_on_a_phone(page, "before") == []
    page.set_viewport_size(dict(zip(("width", "height"), SIZES["tablet"], strict=True)))
    page.evaluate(
        """() => {
          const sheet = new CSSStyleSheet();
          sheet.replaceSync(`.faint { color: #888; background: #fff } .big { font-size: 40px }
            .only { display: none } .night { color: #222; background: #fff }
            @media (max-width: 720px) { .big { font-size: 16px } .only { display: block } }
            @media (prefers-color-scheme: dark) { .night { background: #000 } }`);
          document.adoptedStyleSheets = [sheet];
          const main = document.querySelector("main");
          for (const looks of ["faint only", "faint big", "night only"]) {
            main.append(Object.assign(document.createElement("p"), { className: looks, textContent: looks }));
          }
          main.append(Object.assign(document.createElement("a"), { className: "only", href: "#", textContent: "x" }));
        }"""
    )
    assert looked_at(page, "tablet") == []
    found = "\n".join(looked_at_on_a_phone(page, "after"))
    assert "(light) axe color-contrast" in found
    assert "(dark) axe color-contrast" in found
    assert 'class="only"' in found  # a target that is too small


def test_it_finds_nothing_on_the_steps_the_readings_and_their_errors(bench, address, tablet):
    page = tablet("roaster", size="phone")
    batch = bench.batch()
    found = []
    page.goto(f"{address}/batches/{batch.id}/whole")
    page.locator(".guided").wait_for()
    for _step in bench.versions["whole"].steps:
        found += looked_at(page, "step")
        page.locator("[data-done]").click()
    for key in "56.1562":
        page.locator(f'[data-key="{key}"]').click()
    found += looked_at(page, "readings with a question")
    page.locator("[data-readings] .actions .primary").click()
    page.locator(".problems").wait_for()
    found += looked_at(page, "readings refused")
    assert page.title().startswith("Error: ")
    assert re.search("problems", page.evaluate("document.activeElement.className"))
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "where",
    ["/", "/decisions", "/batches/new", "/batches/{half}/whole", "/batches/{half}/result", "/sign-in"],
)
def test_it_holds_at_twice_the_text_size_and_320_pixels(bench, address, tablet, where):
    half = bench.batch()
    bench.sample(half.id, "ground", [61.0, 61.1, 60.9])
    page = tablet("roaster", size="phone")
    page.set_viewport_size({"width": 320, "height": 640})
    page.goto(address + where.format(half=half.id))
    ready(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 321
    page.set_viewport_size({"width": 640, "height": 900})
    # A browser's text zoom of 200 %: the root's size doubles, everything set in rem follows.
    page.evaluate("document.documentElement.style.fontSize = '225%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 641


def test_it_can_be_used_by_keyboard_alone(bench, address, tablet):
    page, batch = tablet("roaster"), bench.batch()
    page.goto(f"{address}/batches/{batch.id}/whole")
    page.locator(".guided").wait_for()
    for _step in bench.versions["whole"].steps:
        page.locator("[data-done]").focus()
        page.keyboard.press("Enter")
    for text in ("56.1", "56.4", "56.1"):
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.matches('[data-readings] .actions .primary')")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("/ground"))
