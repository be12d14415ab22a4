"""How fast a tablet is by itself: `.venv/bin/python tests/benchmarks/offline.py`, by hand.

    --slower 4      how many times slower than this machine the page's processor is made (Chromium's own throttling)
    --rounds 20     how often each is measured
    --keep FOLDER   keep the demo's database there, and use it again

Measured are, on the demo's bench with its 90 days:
  the cold start    a browser that was closed, its profile kept, no server: from the address to a form that can be used
  the last tap      on the last digit of the last reading, until the position on the gauge has been painted
  the outbox        200 finished records of 67 roasts, from the server's first answer to the last of them stored
  the script        what the capture page loads, compressed

Chromium slows the page, not the service worker and not the disk. Figures hang on the machine; the ones to hold are
1.5 s, 50 ms, 10 s and 40 kB at four times slower. What the machine itself is worth at that minute is shown by a loop
of Python, before and after.
"""

from __future__ import annotations

import argparse
import gzip
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from playwright.sync_api import BrowserContext, Page, Playwright, sync_playwright  # noqa: E402

from demo import environment, serving  # noqa: E402
from demo.build import build  # noqa: E402
from tests.support.offline import KIT, READY  # noqa: E402
from webapp.store import batches, connect, sessions, times  # noqa: E402
from webapp.store.connect import one  # noqa: E402
from webapp.store.who import SYSTEM  # noqa: E402

HOST = "127.0.0.1"
SCREEN = {"width": 1180, "height": 820}
# The moment at which something is there for the first time, by the page's own clock (from the start of navigation).
WATCH = """
  globalThis.seen = {};
  const wanted = {
    painted: "form .option input, form.capture [data-step]",
    usable: "form.capture.guided, form[data-module=new-batch] .option input",
  };
  const look = () => {
    for (const [name, selector] of Object.entries(wanted)) {
      const node = document.querySelector(`main .shell ${selector.split(", ").join(`, main .shell `)}`);
      if (node && !(name in globalThis.seen)) globalThis.seen[name] = performance.now();
    }
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
"""
# From the tap, as the browser received it, to the frame after the one in which the position moved.
TAP = """() => {
  globalThis.taps = [];
  document.querySelector("[data-pad]").addEventListener("click", (event) => {
    const begun = event.timeStamp;
    requestAnimationFrame(() => {
      const channel = new MessageChannel();
      channel.port1.onmessage = () => globalThis.taps.push(performance.now() - begun);
      channel.port2.postMessage(0);
    });
  });
}"""

# A form as it would be finished; its numbers, and what belongs to one roast, are put in by FILL.
FORM = """() => {
  const form = document.querySelector("form.capture, form[data-module=new-batch]");
  return Object.fromEntries([...new FormData(form)].filter(([name]) => name !== "csrf_token" && name !== "next"));
}"""
MODULES = 'const base = document.querySelector("script[type=module]").src.replace(/app\\.mjs$/, "");'
FILL = f"""async ([forms, count]) => {{
  {MODULES}
  const {{ put }} = await import(`${{base}}offline/outbox.mjs`);
  const {{ person, name }} = document.body.dataset;
  const who = {{ person_id: person, claim_id: null, who: name, about: "" }};
  const around = (form) => ({{ ...who, made_at: new Date().toISOString(), form }});
  for (let made = 0, batch = ""; made < count; made++) {{
    const id = crypto.randomUUID();
    if (made % 3 === 0) {{
      batch = id;
      await put({{ id, kind: "batch", ...around({{ ...forms.batch, id, code: `Q-${{made}}` }}) }});
    }} else {{
      const kind = made % 3 === 1 ? "whole" : "ground";
      await put({{ id, kind: "sample", batch_id: batch, sample_kind: kind, ...around({{ ...forms[kind], id }}) }});
    }}
  }}
}}"""
WAITS = f"""async () => {{
  {MODULES}
  const {{ waiting }} = await import(`${{base}}offline/outbox.mjs`);
  return (await waiting()).map((entry) => entry.answer?.problems ?? []);
}}"""
FLUSH = f"""async () => {{
  {MODULES}
  return (await import(`${{base}}offline/flush.mjs`)).flush(1);
}}"""


class Bench:
    """The demo's bench, a tablet's profile, and a browser on it."""

    def __init__(self, folder: Path, player: Playwright, slower: float) -> None:
        self.folder, self.player, self.slower = folder, player, slower
        self.database = folder / "offline.db"
        self.port = serving.any_port(HOST)
        self.address = f"http://{HOST}:{self.port}"

    def make(self) -> None:
        """The demo's database, and a tablet with a roaster signed in."""
        if not self.database.exists():
            build(self.database, datetime.now().astimezone())
        db = connect.connect(self.database)
        now = times.now()
        tablet, secret = sessions.enrol_tablet(db, f"Benchmark {now:%H%M%S}", SYSTEM, now)
        person = one(db, "SELECT id FROM person WHERE role = 'roaster' ORDER BY name")["id"]
        self.cookies = {"tablet": secret, "person": sessions.start_session(db, person, tablet, 12, now)}
        newest = next(batch for batch in batches.search(db, "", 60) if batch.product_name == "Lantern House")
        self.batch = f"/batches/{newest.id}/whole"
        db.close()

    def server(self) -> serving.Server:
        """gunicorn as in deploy/."""
        return serving.Server(sys.executable, self.database, HOST, self.port)

    @contextmanager
    def browser(self, profile: str = "profile") -> Iterator[BrowserContext]:
        """A browser of its own, on a profile that stays."""
        context = self.player.chromium.launch_persistent_context(
            self.folder / profile, executable_path=environment.find_browser(), viewport=SCREEN,
            args=list(environment.BROWSER_ARGS),
        )  # fmt: skip
        try:
            yield context
        finally:
            context.close()

    def slow(self, page: Page) -> Page:
        """The page's processor, so many times slower."""
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": self.slower})
        return page

    def learn(self) -> list[tuple[str, bytes]]:
        """With the server there: everything that a tablet keeps; returns the scripts that the capture page loads."""
        scripts: list[tuple[str, bytes]] = []
        with self.server(), self.browser() as context:
            context.add_cookies([{"name": n, "value": v, "url": self.address} for n, v in self.cookies.items()])
            page = context.new_page()
            page.on("response", lambda answer: answer.url.endswith(".mjs") and scripts.append(answer))
            page.goto(self.address + self.batch, wait_until="networkidle")
            loaded = [(answer.url.removeprefix(self.address), answer.body()) for answer in scripts]
            page.evaluate(READY)
            page.evaluate(KIT)
        return loaded

    def cold_start(self, path: str) -> dict[str, float]:
        """Milliseconds from the start of navigation, in a browser that has just been started."""
        with self.browser() as context:
            page = self.slow(context.new_page())
            page.add_init_script(WATCH)
            page.goto(self.address + path)
            until(page, "globalThis.seen.usable")
            return page.evaluate("globalThis.seen")

    def last_taps(self, rounds: int) -> list[float]:
        """Milliseconds from the tap on the last digit to the painted position, of so many taps."""
        with self.browser() as context:
            page = context.new_page()
            page.goto(self.address + self.batch)
            page.locator("form.capture.guided").wait_for()
            if page.locator("[data-steps]").is_visible():
                page.locator("[data-switch]").click()
                page.locator("[data-done]").click()
            for text in ("56.1", "56.4", "56."):
                for key in text:
                    page.locator(f'[data-key="{key}"]').click()
            self.slow(page).evaluate(TAP)
            last = page.locator('[name="fills-0-readings-2-value"]')
            found = []
            for number in range(rounds):
                last.focus()
                page.evaluate("globalThis.taps.length = 0")
                digit = str(number % 5 + 1)  # such that the readings agree
                box = page.locator(f'[data-key="{digit}"]').bounding_box()
                # Not locator.click(): that puts a listener of its own before the app's.
                page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
                until(page, "globalThis.taps.length")
                found.append(page.evaluate("globalThis.taps[0]"))
                assert last.input_value() == f"56.{digit}", last.input_value()
                page.locator('[data-key="back"]').click()
                page.wait_for_timeout(200)
            return found

    def sent(self, count: int) -> float:
        """Seconds in which so many waiting records are stored, once the server is there."""
        with self.browser() as context:
            context.add_cookies([{"name": n, "value": v, "url": self.address} for n, v in self.cookies.items()])
            page = self.slow(context.new_page())
            forms = {}
            page.goto(self.address + "/batches/new")
            page.locator('label:has-text("Lantern House")').click()
            page.locator('label:has([name="machine"])').first.click()
            forms["batch"] = page.evaluate(FORM)
            for kind, readings in (("whole", ("56.1", "56.4", "56.1")), ("ground", ("61.0", "61.1", "60.9"))):
                page.goto(self.address + self.batch.replace("whole", kind))
                page.locator("form.capture.guided").wait_for()
                if page.locator("[data-steps]").is_visible():
                    if page.locator("[data-switch]").inner_text() == "Short checklist":
                        page.locator("[data-switch]").click()
                    page.locator("[data-done]").click()
                forms[kind] = page.evaluate(FORM)
                forms[kind] |= {f"fills-0-readings-{no}-value": text for no, text in enumerate(readings)}
            page.evaluate(FILL, [forms, count])
            with self.server():
                started = time.monotonic()
                while waits := page.evaluate(WAITS):
                    if time.monotonic() - started > 60:
                        raise SystemExit(f"{len(waits)} are still here: {waits[:3]}")
                    page.evaluate(FLUSH)
                return time.monotonic() - started


def machine() -> float:
    """Milliseconds for a million additions, of five tries the middle one: other work makes every figure larger."""
    found = []
    for _ in range(5):
        begun, total = time.perf_counter(), 0
        for number in range(1_000_000):
            total += number
        found.append(1000 * (time.perf_counter() - begun))
    return statistics.median(found)


def until(page: Page, true: str) -> None:
    """Wait for it without a string for the page to evaluate by itself, which its policy forbids."""
    for _ in range(600):
        if page.evaluate(true):
            return
        page.wait_for_timeout(100)
    raise SystemExit(f"it never came: {true}")


def told(name: str, values: list[float], unit: str = "ms") -> str:
    """One line of figures."""
    ordered = sorted(values)
    high = ordered[min(len(ordered) - 1, round(0.95 * (len(ordered) - 1)))]
    return f"{name:46} median {statistics.median(ordered):7.0f}   95 % {high:7.0f}   most {ordered[-1]:7.0f} {unit}"


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--slower", type=float, default=4)
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--keep", type=Path)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="drumside-") as folder, sync_playwright() as player:
        if chosen.keep:
            chosen.keep.mkdir(parents=True, exist_ok=True)
        bench = Bench(Path(folder), player, chosen.slower)
        if chosen.keep:
            bench.database = chosen.keep / "offline.db"
        bench.make()
        scripts = bench.learn()
        sizes = {path: len(gzip.compress(body, 6)) for path, body in scripts}
        print(f"\nThe page's processor {chosen.slower:g} times slower than this machine's; no server.")
        print(f"the machine before: {machine():.0f} ms for a million additions")
        for path, name in (("/batches/new", "a new batch"), (bench.batch, "a capture")):
            found = [bench.cold_start(path) for _ in range(max(3, chosen.rounds // 4))]
            print(told(f"cold start to the form of {name}, painted", [f["painted"] for f in found]))
            print(told(f"cold start to the form of {name}, usable", [f["usable"] for f in found]))
        print(told("last tap to the painted position", bench.last_taps(chosen.rounds)))
        print(f"200 waiting records sent and stored{'':22} {bench.sent(200):5.1f} s")
        print(f"the machine after: {machine():.0f} ms for a million additions")
        plain = sum(len(body) for _path, body in scripts)
        print(f"script of the capture page: {len(sizes)} files, {sum(sizes.values()) / 1000:.1f} kB compressed"
              f" ({plain / 1000:.1f} kB plain)")  # fmt: skip
        for path, size in sorted(sizes.items(), key=lambda item: -item[1])[:8]:
            print(f"    {size / 1000:5.1f} kB  {path.split('/', 3)[-1]}")


if __name__ == "__main__":
    main()
