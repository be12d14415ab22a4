"""The pages that the tablet fills by itself are those that the server makes: element by element, word by word."""

import re
import uuid

import pytest
from playwright.sync_api import Page, expect

from tests.support import studying
from tests.support.offline import Place, prepare
from tests.support.roastery import later
from webapp.store import gear, grinder_log, methods, people, products
from webapp.store.methods import Step
from webapp.store.products import TargetBand

# An element as a list: name, attributes, children. Numbers are numbers, however they are written. Left out is what
# differs from one opening of a page to the next: ids of records, times, form tokens.
TREE = """(selector) => {
  const ONCE = ["id", "made_at", "clock"];
  const numbers = (text) => text.replace(/-?\\d+(\\.\\d+)?/g, (found) => String(Number(found)));
  const sorted = (_key, part) => part && typeof part === "object" && !Array.isArray(part)
    ? Object.fromEntries(Object.entries(part).sort(([a], [b]) => (a < b ? -1 : 1))) : part;
  const plain = ({ name, value }) => {
    if (name === "data-kit" || name === "data-first") return JSON.stringify(JSON.parse(value), sorted);
    if (name === "class") return value.trim().split(/\\s+/).sort().join(" ");
    return numbers(value.trim());
  };
  const tree = (node) => {
    if (node.nodeType === Node.TEXT_NODE) return node.textContent.replace(/\\s+/g, " ").trim();
    if (node.nodeType !== Node.ELEMENT_NODE || node.name === "csrf_token") return "";
    const once = ONCE.includes(node.name);
    const attributes = [...node.attributes].filter(({ name }) => !(once && name === "value"))
      .map((attribute) => [attribute.name, plain(attribute)]).sort(([a], [b]) => (a < b ? -1 : 1));
    const children = [];
    for (const child of node.childNodes) {
      const made = tree(child);
      if (made === "") continue;
      if (typeof made === "string" && typeof children.at(-1) === "string") children.push(`${children.pop()} ${made}`);
      else children.push(made);
    }
    return [node.localName, Object.fromEntries(attributes), ...children];
  };
  return tree(document.querySelector(selector));
}"""


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


def both(page: Page, place: Place, path: str, selector: str, ready: str) -> tuple[list, list, str, str]:
    """(tree, tree, title, title) of a page as the server makes it, and as the tablet fills it."""
    place.up()
    page.goto(place.url + path)
    page.locator(ready).first.wait_for(state="attached")
    online, title = page.evaluate(TREE, selector), page.title()
    place.down()
    page.goto(place.url + path)
    page.locator(f".shell {ready}").first.wait_for(state="attached")
    return online, page.evaluate(TREE, f".shell {selector}"), title, page.title()


def differences(a, b, where="") -> list[str]:
    """Where two trees differ, for a message that can be read."""
    if isinstance(a, str) or isinstance(b, str):
        return [] if a == b else [f"{where}: {str(a)[:300]!r} / {str(b)[:300]!r}"]
    here = f"{where}/{a[0]}"
    found = [] if a[0] == b[0] else [f"{here}: {b[0]}"]
    for name in sorted(a[1].keys() | b[1].keys()):
        if a[1].get(name) != b[1].get(name):
            found.append(f"{here}@{name}: {a[1].get(name)!r} / {b[1].get(name)!r}")
    if len(a) != len(b):
        kids = [[c if isinstance(c, str) else f"{c[0]}.{c[1].get('class', '')}" for c in t[2:]] for t in (a, b)]
        return [*found, f"{here}: {kids[0]} / {kids[1]}"]
    for index, (one, other) in enumerate(zip(a[2:], b[2:], strict=True)):
        found += differences(one, other, f"{here}[{index}]")
    return found


def rich(bench) -> str:
    """A second product on the flipped scale, read with either of two meters, in steps that have everything, and ground
    on a grinder that stands at another setting than the method's."""
    who, now = bench.who("lead"), bench.now
    gear.add_meter(bench.db, "Meter C", bench.flipped, "Plate 3", 5000, 30, who, now)
    gear.add_machine(bench.db, "Machine 2", who, now)
    other = gear.add_grinder_setting(bench.db, bench.grinder, "9", who, now)
    grinder_log.add_event(bench.db, str(uuid.uuid4()), bench.grinder, "setting", other, "", who, now)
    second = gear.add_grinder(bench.db, "Grinder 2", who, now)
    gear.add_grinder_setting(bench.db, second, "fine", who, now)
    steps = [
        Step(1, "Cool", "Spread it.", "Warm coffee reads darker.", "It is cool", "cool-sample", "Hot.", 120, "", ""),
        Step(2, "Weigh", "", "", "", "", "", None, "Mass", "g"),
        Step(3, "Grind", "Grind it.", "", "Ground", "grinder-setting", "", None, "", ""),
    ]
    ground = methods.add_method(
        bench.db, "Everything", "ground", "small dish", 4, 2, bench.setting, steps, who, now
    )
    return products.add_product(
        bench.db, "Night Train", "NT", bench.flipped, "simple", 0.9, None, ground,
        [TargetBand("ground", None, 4000, 4300)], who, now,
    )  # fmt: skip


# With all that comes after the steps: the readings and their pad, and the screen that is held.
CAPTURE = "form.capture.guided[data-awake]:has([data-live]:not([hidden]))"


@pytest.mark.parametrize(("role", "kind"), [("roaster", "whole"), ("trainee", "ground")])
def test_it_fills_the_capture_page_as_the_server_does(bench, place, tablet, role, kind):
    """The method was changed after the first six: what they have shown is not this version's, here and there."""
    batch = bench.batch()
    for _ in range(6):
        bench.sample(bench.batch().id, kind, [66.1, 66.4, 66.1])
    old, lead = bench.versions[kind], bench.who("lead")
    made = methods.add_version(
        bench.db, old.method_id, old.dish, 3, 1, old.grinder_setting_id, old.steps[:2], "shorter", lead, bench.now
    )
    bench.versions = bench.versions | {kind: methods.get_version(bench.db, made)}
    for _ in range(6):
        earlier = bench.batch()
        bench.sample(earlier.id, kind, [56.1, 56.4, 56.1] if kind == "whole" else [61.0, 61.2, 61.1])
    page = tablet(role, service_workers="allow", failing=True)
    prepare(page, place.url)
    online, own, *titles = both(page, place, f"/batches/{batch.id}/{kind}", "form.capture", CAPTURE)
    assert differences(online, own) == []
    assert titles[0] == titles[1]


def test_it_fills_a_page_with_everything_on_it_as_the_server_does(bench, place, tablet):
    product = rich(bench)
    batch = bench.batch(product=product)
    people.set_habits(bench.db, bench.people["roaster"], True, True, bench.who("roaster"), bench.now)
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    for kind in ("ground", "whole"):
        online, own, *titles = both(page, place, f"/batches/{batch.id}/{kind}", "form.capture", CAPTURE)
        assert differences(online, own) == []
        assert titles[0] == titles[1]
        if kind == "ground":
            judges_only_at_the_methods_setting(page)


def judges_only_at_the_methods_setting(page: Page) -> None:
    """The page starts where the grinder stands, which is another setting."""
    page.locator("form.capture").evaluate(
        "form => { form.elements['fills-0-readings-0-value'].value = '40.1'; }"
    )
    line, standing = page.locator(".apart"), page.locator("[data-standing]")
    for index, shown in ((1, True), (0, False), (2, True)):
        page.locator("[data-setting]").select_option(index=index)
        expect(line).to_be_visible() if shown else expect(line).to_be_hidden()
        verdict = re.compile("In band|Out|close to call")
        expect(standing).not_to_have_text(verdict) if shown else expect(standing).to_have_text(verdict)


def test_it_fills_the_form_for_a_batch_as_the_server_does(bench, place, tablet):
    rich(bench)
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    ready = "form[data-module=new-batch]"
    online, own, *titles = both(page, place, "/batches/new", ready, ready)
    assert differences(online, own) == []
    assert titles[0] == titles[1]


def test_it_says_of_a_batch_that_it_does_not_know_where_it_is(bench, place, tablet):
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    page.goto(f"{place.url}/batches/{'0' * 8}-0000-4000-8000-{'0' * 12}/result")
    page.get_by_role("heading", name="This batch is with the server").wait_for()
    assert re.search("What this tablet has", page.locator("main").inner_text())


OFF = "ground at another setting, after a change of burrs"
CASES = {
    "in band": ((56.1, 56.4, 56.1), (61.0, 61.1, 60.9)),
    "out, darker, and too close": ((51.0, 51.2, 51.1), (59.6, 59.5, 59.7)),
    "readings that disagree, fills apart": ((56.1, 56.4, 59.9, 52.1), (57.2, 57.1, 57.1, 64.0)),
    "whole bean only": ((56.1, 56.4, 56.1), ()),
    OFF: ((56.1, 56.4, 56.1), (57.2, 57.1, 57.1)),
}


# The roles differ in what they may decide, which one case is enough for.
CLOSE = "out, darker, and too close"


BY = [*((case, "roaster") for case in CASES), (CLOSE, "lead"), (CLOSE, "trainee")]


@pytest.mark.parametrize(("case", "role"), BY)
def test_it_shows_the_result_as_the_server_does(bench, place, tablet, case, role):
    """The same samples, told by the server and worked out on the tablet: words, figures, gauges, links."""
    batch = bench.batch()
    other, then = None, later(bench.now, hours=-1)
    if case == OFF:
        other = gear.add_grinder_setting(bench.db, bench.grinder, "9", bench.who("lead"), then)
        grinder_log.add_event(bench.db, str(uuid.uuid4()), bench.grinder, "burrs", None, "", bench.who(), then)
    if case == "in band":
        # Then "How this was worked out" names the study's day.
        studying.accept(bench, studying.plan(bench))
    page = tablet(role, service_workers="allow", failing=True)
    prepare(page, place.url)
    for kind, readings in zip(("whole", "ground"), CASES[case], strict=True):
        if readings:
            fills = [fill for fill in (readings[:3], readings[3:]) if fill]
            sample = bench.sample(batch.id, kind, *fills, role=role, setting=other if kind == "ground" else None)
            page.evaluate(KEPT, [record_of(sample, bench, role), batch.id])
    online, own, *titles = both(page, place, f"/batches/{batch.id}/result", ".page.fill", ".page.fill .about")
    assert differences(cleaned(online), cleaned(own)) == []
    assert titles[0] == titles[1]
    # The advice rests on a hundred batches, which a tablet does not have: it says nothing in its place.
    assert ("data-advice" in str(online), "data-advice" in str(own)) == (True, False)
    how = page.evaluate(TREE, "#how .stack")
    assert ("from the study of" in str(how)) == (case == "in band")
    place.up()
    page.goto(f"{place.url}/batches/{batch.id}")
    assert differences(page.evaluate(TREE, "#how .stack"), how) == []


# As the outbox would have left it, once the server had it.
KEPT = """async ([record, batch]) => {
  const base = document.querySelector("script[src$='app.mjs']").src.replace("app.mjs", "offline/");
  const { keepShown } = await import(base + "known.mjs");
  await keepShown([record], { person_id: record.person_id });
}"""


def record_of(sample, bench, role: str) -> dict:
    """A stored sample as the record that it would have been on the tablet."""
    form = {"id": sample.id, "meter": sample.meter_id, "method_version": sample.method_version_id}
    if sample.grinder_setting_id:
        form["setting"] = sample.grinder_setting_id
    for reading in sample.readings:
        form[f"fills-{reading.fill_no - 1}-readings-{reading.no - 1}-value"] = reading.typed
    return {
        "id": sample.id, "kind": "sample", "batch_id": sample.batch_id, "sample_kind": sample.kind, "form": form,
        "person_id": bench.people[role], "made_at": sample.made_at, "seq": 1,
    }  # fmt: skip


def cleaned(tree):
    """Without what only one side can know: the roast's masses, ids of forms, links to the record, stored samples."""
    if isinstance(tree, str):
        return tree
    attributes = {k: v for k, v in tree[1].items() if k not in ("data-stored", "data-drafts")}
    if str(attributes.get("href", "")).endswith("#how"):
        attributes["href"] = "#how"
    children = [cleaned(c) for c in tree[2:] if not (isinstance(c, list) and left_out(c))]
    return [tree[0], attributes, *children]


def left_out(tree) -> bool:
    """Whether this part is only the server's, or only the tablet's."""
    text = str(tree)
    loss = tree[0] == "div" and "'dt', {}, 'Roast loss'" in text and len(text) < 200
    record = text.endswith("'The whole record']")
    return loss or "data-advice" in tree[1] or tree[1].get("id") == "how" or record
