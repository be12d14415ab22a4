"""A walk of random steps over the bench, and the promise that holds after each of them:

    everything that a screen ever called saved is stored, or waits on the tablet; each once, as it was typed.

The step is drawn from what somebody at that page could do, and from what happens to networks, servers and tablets.
"""

from __future__ import annotations

import contextlib
import random
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

from playwright.sync_api import TimeoutError

from tests.support.roastery import NAMES, PINS, Roastery
from tests.walk.gate import Gate, Gunicorn
from tests.walk.tablet import Tablet

STORE = "[data-readings] .actions .primary"
BATCH = re.compile(r"^/batches/([0-9a-f-]{36})")
CENTRE = {"whole": 562, "ground": 610}
# How long the page may take to say what has become of a finished form: four seconds is the app's own patience.
OUTCOME_MS = 15_000
ROLES = {name: role for role, name in NAMES.items()}


@dataclass
class Promise:
    """A record that was finished: what it says, in whose name, and whether a screen called it saved."""

    id: str
    kind: str
    token: str
    person: str
    typed: dict[str, str]
    saved: bool = False

    def content(self) -> tuple:
        """What makes it this one and no other."""
        return content(self.kind, self.token, self.person, self.typed)


@dataclass
class Draft:
    """What was typed into a form so far; kept under the form's own number."""

    id: str
    typed: dict[str, str] = field(default_factory=dict)


class Walk:
    """One walk. `seed` decides every step."""

    def __init__(self, seed: int, tablet: Tablet, gate: Gate, server: Gunicorn, bench: Roastery) -> None:
        self.random = random.Random(seed)
        self.tablet, self.gate, self.server, self.bench = tablet, gate, server, bench
        self.promises: dict[tuple, Promise] = {}
        self.drafts: dict[str, Draft] = {}
        self.batches: dict[str, set[str]] = {}
        self.log: list[str] = []
        self.counts: Counter[str] = Counter()
        self.made = 0
        gate.on_loss = lambda: self.server.kill() if self.kill_at_loss else None
        self.kill_at_loss = True

    # What can be done at this moment, and how often it is.

    def choices(self) -> list[tuple[Callable[[], str], int]]:
        """(step, weight) of every step that is possible here."""
        s = self.tablet.sees()
        free = s["ours"] and not s["locked"] and not s["pin"]
        whole = self.gate.mode == "open" and self.server.process and not self.tablet.offline
        found = [
            (self.reload, 3), (self.kill_browser, 3), (self.look_at_home, 3),
            (self.go_online, 8) if self.tablet.offline else (self.go_offline, 4),
            (self.start_server, 8) if not self.server.process else (self.kill_server, 3),
            (self.open_gate, 12) if self.gate.mode != "open" else (self.hang, 1),
            (self.release, 2), (self.second_tab, 2),
        ]  # fmt: skip
        if s["locked"] or s["pin"]:
            return [*found, (self.take_over, 80)]
        if not free:
            return found
        found += [(self.lock, 3), (self.send_now, 3), (self.start_batch, 16 if len(self.unread()) < 4 else 4)]
        if self.unread():
            found.append((self.open_capture, 16))
        if whole:
            found += [(self.lose_answer, 8), (self.lose_request, 3)]
        if s["capture"]:
            whole_fill = self.complete()
            found += [(self.type_reading, 5 if whole_fill else 80), (self.finish_sample, 80 if whole_fill else 0)]
        if s["new_batch"]:
            found += [(self.type_batch, 20), (self.finish_batch, 80)]
        if s["pin_link"]:
            found.append((self.take_over, 30))
        if s["release"]:
            found.append((self.decide, 30))
        if s["update"]:
            found.append((self.apply_update, 80))
        if len(self.tablet.context.pages) > 1:
            found += [(self.other_tab, 4), (self.close_tab, 2)]
        return found

    def step(self) -> None:
        """Draw one step, do it, and look whether the promise still holds."""
        steps, weights = zip(*self.choices(), strict=True)
        (chosen,) = self.random.choices(steps, weights)
        self.counts[chosen.__name__] += 1
        self.log.append(f"{len(self.log) + 1} {chosen.__name__}")
        try:
            said = chosen()
        except TimeoutError as late:
            # A page may go somewhere else by itself just under the finger; nothing was promised then.
            self.counts["slipped"] += 1
            said = f"slipped: {str(late).splitlines()[0]}"
            self.tablet.settle()
        self.log[-1] += f": {said or ''} at {self.tablet.page.url.removeprefix(self.tablet.url)}"
        self.check()

    # The bench.

    def start_batch(self) -> str:
        self.tablet.go("/batches/new")
        return self.compare("new-batch")

    def type_batch(self) -> str:
        """The form that is open, or what somebody left in it."""
        page, fields = self.tablet.page, self.tablet.fields()
        product = page.locator('label:has-text("Lantern House") input')
        if not product.is_checked():
            page.locator('label:has-text("Lantern House")').click()
        typed = {"product": product.get_attribute("value")}
        for name, value in (("code", self.token()), ("lot", f"Lot {self.random.randrange(90)}")):
            if not (fields.get(name) or "").startswith("w-") or self.random.random() < 0.3:
                page.locator(f'[name="{name}"]').fill(value)
                typed[name] = value
        return self.kept("new-batch", typed)

    def finish_batch(self) -> str:
        fields = self.tablet.fields()
        if not fields["code"].startswith("w-") or "product" not in fields:
            self.type_batch()
            fields = self.tablet.fields()
        typed = {name: fields[name] for name in ("code", "lot", "product")}
        return self.finish("batch", fields["code"], typed, '[name="next"][value=""].primary', "new-batch")

    def open_capture(self) -> str:
        batch, kind = self.random.choice(self.unread())
        self.tablet.go(f"/batches/{batch}/{kind}")
        return self.compare(f"{batch}/{kind}")

    def here(self) -> tuple[str, str]:
        """(batch, kind) of the capture that is open."""
        path = self.tablet.sees()["path"].split("/")
        # The server came back just now, and its page is another one: as when a finger slips.
        if len(path) != 4:
            raise TimeoutError(f"the capture is gone: {'/'.join(path)}")
        return path[2], path[3]

    def complete(self) -> bool:
        """Whether the three readings are there."""
        fields = self.tablet.fields()
        return all(fields.get(f"fills-0-readings-{n}-value") for n in range(3))

    def type_reading(self) -> str:
        """Up to three of the readings; before the first, the steps."""
        page = self.tablet.page
        batch, kind = self.here()
        self.do_steps()
        fields, typed = self.tablet.fields(), {}
        if not fields.get("note"):
            page.locator("details.notes summary").click()
            typed["note"] = self.token()
            page.locator('[name="note"]').fill(typed["note"])
        for n in range(3):
            name = f"fills-0-readings-{n}-value"
            if fields.get(name) and self.random.random() < 0.9:
                continue
            typed[name] = f"{(CENTRE[kind] + self.random.choice((-1, 0, 1))) / 10:.1f}"
            page.locator(f'[name="{name}"]').fill(typed[name])
            if self.random.random() < 0.4:
                break
        return self.kept(f"{batch}/{kind}", typed)

    def do_steps(self) -> None:
        """Tick every step, the short way where the role has it."""
        page = self.tablet.page
        switch = page.locator("[data-switch]:visible")
        if switch.count() and switch.inner_text() == "Short checklist":
            switch.click()
        while page.locator("[data-done]").is_visible():
            page.locator("[data-done]").click()

    def finish_sample(self) -> str:
        batch, kind = self.here()
        self.do_steps()
        fields = self.tablet.fields()
        typed = {n: v for n, v in fields.items() if n == "note" or (n.endswith("-value") and v)}
        return self.finish("sample", fields["note"], typed, STORE, f"{batch}/{kind}")

    def decide(self) -> str:
        number = "[data-module=decide] [name=id]"
        id = self.tablet.page.locator(number).input_value()
        return self.finish("decision", id, {"what": "release"}, "[data-module=decide] .primary", "", id)

    def finish(self, kind: str, token: str, typed: dict, button: str, draft: str, id: str = "") -> str:
        """Tap the button, and see whether the screen calls it saved."""
        page, s = self.tablet.page, self.tablet.sees()
        id = id or s["id"]
        # The same form may be finished in two tabs, with two contents: that is two promises.
        made = Promise(id, kind, token, s["person"], typed)
        promise = self.promises.setdefault(made.content(), made)
        page.locator(button).last.click()
        for _ in range(OUTCOME_MS // 100):
            page.wait_for_timeout(100)
            if self.tablet.sees()["path"] != s["path"] or (kind == "decision" and self.tablet.sees()["id"] != id):
                break
        self.tablet.settle()
        after = self.tablet.sees()
        if kind == "decision":
            saved = not after["release"] or self.waits(id)
        else:
            saved = after["path"] != s["path"] or "Saved on this tablet" in after["said"]
        if saved:
            promise.saved = True
            self.drafts.pop(draft, None)
            if kind == "batch":
                self.batches.setdefault(id, set())
            if kind == "sample":
                self.batches[draft.split("/")[0]].add(draft.split("/")[1])
        words = "saved" if saved else "not saved"
        return f"{id[:8]} {token} by {promise.person}, {words} {after['corner']} {after['said']}"

    def waits(self, id: str) -> bool:
        return any(entry["id"] == id for entry in self.tablet.outbox() or [])

    def unread(self) -> list[tuple[str, str]]:
        """Batches and kinds that nobody has finished yet."""
        both = ("whole", "ground")
        return [(batch, kind) for batch, read in self.batches.items() for kind in both if kind not in read]

    def token(self) -> str:
        """Words that stand nowhere else."""
        self.made += 1
        return f"w-{self.made}"

    # What was typed and not finished.

    def kept(self, key: str, typed: dict[str, str]) -> str:
        """Remember what was typed, as soon as the tablet has had the time to keep it."""
        self.tablet.page.wait_for_timeout(300)
        s = self.tablet.sees()
        draft = self.drafts.get(key)
        if not draft or draft.id != s["id"]:
            draft = self.drafts[key] = Draft(s["id"])
        draft.typed |= typed
        self.alone(key)
        return f"{key} {typed} {s['corner']}"

    def alone(self, key: str) -> None:
        """The same form in two tabs: the last one to keep something counts, and nobody knows which that is."""
        tail = "/batches/new" if key == "new-batch" else key
        if sum(page.url.split("?")[0].endswith(tail) for page in self.tablet.context.pages) > 1:
            self.drafts.pop(key, None)

    def compare(self, key: str) -> str:
        """A form that is opened again has what was typed into it."""
        s = self.tablet.sees()
        draft = self.drafts.get(key)
        if not draft or not s["kept_form"] or s["locked"] or s["pin"]:
            return key
        self.tablet.page.wait_for_timeout(300)
        fields = self.tablet.fields()
        assert self.tablet.sees()["id"] == draft.id, f"{key}: another number"
        for name, value in draft.typed.items():
            assert fields.get(name) == value, f"{key}: {name} was {value!r} and is {fields.get(name)!r}"
        self.counts["drafts found again"] += 1
        return f"{key}, draft is there"

    def form_here(self) -> str | None:
        """The draft's name of the form that is open."""
        s = self.tablet.sees()
        if s["new_batch"]:
            return "new-batch"
        return "/".join(self.here()) if s["capture"] else None

    # The tablet, the network, the server.

    def reload(self) -> str:
        before = self.form_here()
        self.tablet.again()
        return self.compare(before) if before and self.form_here() == before else ""

    def look_at_home(self) -> str:
        if self.batches and self.random.random() < 0.6:
            batch = self.random.choice(list(self.batches))
            self.tablet.go(f"/batches/{batch}/result")
        else:
            self.tablet.go("/")
        return ""

    def kill_browser(self) -> str:
        path = self.tablet.page.url.removeprefix(self.tablet.url)
        before = self.form_here()
        self.tablet.kill()
        self.tablet.launch()
        self.tablet.go(path if path.startswith("/") and self.random.random() < 0.5 else "/")
        return self.compare(before) if before and self.form_here() == before else ""

    def go_offline(self) -> str:
        self.tablet.offline = True
        self.tablet.context.set_offline(True)
        return ""

    def go_online(self) -> str:
        self.tablet.offline = False
        self.tablet.context.set_offline(False)
        return ""

    def kill_server(self) -> str:
        self.server.kill()
        return ""

    def start_server(self) -> str:
        self.server.up()
        return ""

    def hang(self) -> str:
        self.gate.set("hang")
        return ""

    def open_gate(self) -> str:
        self.gate.set("open")
        return ""

    def lose_answer(self) -> str:
        """The server commits the next record; then it, or only the connection, is gone."""
        self.kill_at_loss = self.random.random() < 0.7
        self.gate.lose = "answer"
        return "and the server" if self.kill_at_loss else "only"

    def lose_request(self) -> str:
        self.kill_at_loss = self.random.random() < 0.5
        self.gate.lose = "request"
        return ""

    def release(self) -> str:
        """The next release of the app; it runs from now on, or from the next start."""
        self.server.release()
        if self.server.process:
            self.server.kill()
            self.server.up()
        return str(self.server.releases)

    def apply_update(self) -> str:
        self.tablet.page.locator("[data-apply]").click()
        self.tablet.page.wait_for_timeout(500)
        self.tablet.settle()
        return ""

    def second_tab(self) -> str:
        if len(self.tablet.context.pages) > 1:
            return "there is one"
        path = self.tablet.page.url.removeprefix(self.tablet.url) if self.random.random() < 0.5 else "/"
        self.tablet.page = self.tablet.context.new_page()
        self.tablet.go(path if path.startswith("/") else "/")
        if key := self.form_here():
            self.alone(key)
        return ""

    def other_tab(self) -> str:
        self.tablet.page = next(page for page in self.tablet.context.pages if page != self.tablet.page)
        self.tablet.page.bring_to_front()
        return ""

    def close_tab(self) -> str:
        old = self.tablet.page
        self.other_tab()
        old.close()
        return ""

    def send_now(self) -> str:
        self.tablet.go("/outbox")
        button = self.tablet.page.locator("[data-send-now]:visible")
        if button.count():
            button.click()
            self.tablet.page.wait_for_timeout(500)
        return self.tablet.sees()["corner"]

    # People.

    def lock(self) -> str:
        person = self.tablet.page.locator(".top .person")
        if not person.count():
            return "nobody here"
        person.click()
        self.tablet.settle()
        button = self.tablet.page.get_by_role("button", name="Lock", exact=True)
        if button.count() and self.random.random() < 0.5:
            button.click()
            self.tablet.settle()
        return ""

    def take_over(self, name: str | None = None) -> str:
        """By PIN where the server asks for it, by name where it cannot."""
        page = self.tablet.page
        name = name or self.random.choice(list(ROLES))
        if self.tablet.sees()["pin_link"]:
            page.locator("[data-pin-link]").click()
            self.tablet.settle()
        s = self.tablet.sees()
        if s["locked"]:
            button = page.locator(".lock-screen").get_by_role("button", name=name)
            if not button.count():
                page.wait_for_timeout(1000)
                return "no names yet"
            button.click()
        else:
            label = page.locator(f'label:has-text("{name}")')
            if label.first.is_visible():
                label.first.click()
            for digit in PINS[ROLES[name]]:
                page.locator(f"[data-digit='{digit}']").click()
        page.wait_for_timeout(300)
        self.tablet.settle()
        return f"{name} {'by claim' if s['locked'] else 'by PIN'}, {self.tablet.sees()['said']}"

    # The promise.

    def stored(self) -> list[dict]:
        """Every record that the server has: {id, kind, token, typed, person}."""
        query = self.bench.db.query
        found = [
            {"id": r["id"], "kind": "batch", "token": r["code"], "person": r["name"],
             "typed": {"code": r["code"], "lot": r["lot"], "product": r["product_id"]}}
            for r in query("SELECT b.*, p.name FROM batch b JOIN person p ON p.id = b.person_id")
        ]  # fmt: skip
        for r in query("SELECT s.*, p.name FROM sample s JOIN person p ON p.id = s.person_id"):
            typed = {
                f"fills-{one['fill_no'] - 1}-readings-{one['no'] - 1}-value": one["typed"]
                for one in query("SELECT * FROM reading WHERE sample_id = ?", [r["id"]])
            }
            typed["note"] = r["note"]
            found.append({"id": r["id"], "kind": "sample", "token": r["note"], "person": r["name"], "typed": typed})
        for r in query("SELECT d.*, p.name FROM decision d JOIN person p ON p.id = d.person_id"):
            what = {"what": r["what"]}
            found.append({"id": r["id"], "kind": "decision", "token": r["id"], "person": r["name"], "typed": what})
        return found

    def waiting(self) -> list[dict] | None:
        """The same of every record that waits on the tablet."""
        entries = self.tablet.outbox()
        if entries is None:
            return None
        return [as_said(entry) for entry in entries if entry["kind"] != "claim"]

    def check(self) -> None:
        """Looked at in this order a record that goes from the tablet to the server meanwhile is seen."""
        here = self.waiting()
        if here is None:
            return
        there = self.stored()
        self.compare_all(there, here)
        assert not self.tablet.complaints, self.tablet.complaints

    def compare_all(self, there: list[dict], here: list[dict]) -> None:
        """Each promise once, and nothing that was not promised."""
        stored = Counter(content(r["kind"], r["token"], r["person"], r["typed"]) for r in there)
        waiting = {content(r["kind"], r["token"], r["person"], r["typed"]) for r in here}
        assert max(stored.values(), default=1) == 1, f"stored twice: {stored.most_common(3)}"
        for key, promise in self.promises.items():
            assert not promise.saved or key in stored or key in waiting, f"lost: {promise}"
        strange = (set(stored) | waiting) - set(self.promises)
        assert not strange, f"never finished like this: {strange}"

    def come_home(self) -> dict[str, int]:
        """Everything is well again; what waited is sent, and the promise holds to the letter."""
        self.gate.lose = None
        self.gate.set("open")
        self.server.up()
        self.go_online()
        for _ in range(12):
            self.tablet.go("/outbox")
            s = self.tablet.sees()
            if s["locked"] or s["pin"] or s["pin_link"]:
                self.tablet.page.wait_for_timeout(1000)
                with contextlib.suppress(TimeoutError):
                    self.log.append(f"home: {self.take_over('Ravi')}")
                continue
            with contextlib.suppress(TimeoutError):
                self.tablet.page.locator("[data-send-now]").click()
            self.tablet.page.wait_for_timeout(1500)
            self.log.append(f"home: {s['person']}, {self.tablet.sees()['corner']}")
            here = self.tablet.outbox()
            if here is not None and all(entry["state"] == "attention" for entry in here):
                break
        here, there = self.waiting(), self.stored()
        self.compare_all(there, here)
        ids = {r["id"] for r in there}
        left = [as_said(e) for e in self.tablet.outbox() if e["state"] != "attention"]
        assert not left, f"still waiting: {left}"
        for entry in self.tablet.outbox():
            # A decision waits for its person's PIN; the same form finished twice with two contents waits for somebody.
            error = (entry["answer"] or {}).get("error")
            assert entry["kind"] == "decision" or (error == "other_content" and entry["id"] in ids), entry
        saved = {p.token for p in self.promises.values() if p.saved}
        assert saved <= {r["token"] for r in [*there, *here]}
        return {"promised": len(saved), "stored": len(there), "waiting": len(here), "answers lost": self.gate.lost}


def content(kind: str, token: str, person: str, typed: dict[str, str]) -> tuple:
    """What a record says, in whose name: under whatever number it is kept."""
    return kind, token, person, tuple(sorted(typed.items()))


def as_said(entry: dict) -> dict:
    """An entry of the outbox as it will be stored."""
    form, kind = entry["form"], entry["kind"]
    if kind == "batch":
        typed = {name: form.get(name) for name in ("code", "lot", "product")}
        token = form["code"]
    elif kind == "sample":
        typed = {n: v for n, v in form.items() if n == "note" or (n.endswith("-value") and v)}
        token = form["note"]
    else:
        typed, token = {"what": form.get("what")}, entry["id"]
    return {"id": entry["id"], "kind": kind, "token": token, "person": entry["who"], "typed": typed}
