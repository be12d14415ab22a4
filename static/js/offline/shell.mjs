// The page that the service worker gives when the server cannot be reached: chooses what belongs to the address, and
// fills it from the kit and from what this tablet has.
import { begin, start } from "../app.mjs";
import { ask } from "./ask.mjs";
import { choose, machine, person as nameOf, product } from "./choose.mjs";
import { atTablet, leave } from "./claims.mjs";
import { WAITING, flush } from "./flush.mjs";
import * as fill from "./form-fill.mjs";
import { LIMIT_MS, age, lastKit } from "./kit.mjs";
import { keepShown, knownBatches, proposeCode } from "./known.mjs";
import { subscribe, waiting } from "./outbox.mjs";
import { Pages, repeat } from "./parts.mjs";
import Sentences from "./sentences.mjs";
import { clock, day, moment } from "./site-time.mjs";
import { get } from "./store.mjs";

const ID = "([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})";
const ROUTES = [
  [/^\/batches\/new$/, "newBatch"],
  [new RegExp(`^/batches/${ID}/(whole|ground)$`), "capture"],
  [new RegExp(`^/batches/${ID}(?:/result)?$`), "result"],
  [new RegExp(`^/batches/${ID}/decision/(hold|reject|concession)$`), "reason"],
  [new RegExp(`^/gear/(meters|grinders)/${ID}/([a-z-]+)$`), "gear"],
  [new RegExp(`^/(studies/precision)/${ID}/(\\d+)$`), "gear"],
  [new RegExp(`^/(comparisons)/${ID}/(\\d+)/([ab])$`), "gear"],
];
// What only shows something is shown by the server as soon as it has it; a form is never taken away.
const SHOWING = new Set(["result", "today"]);
const KNOCK_MS = 8000;
// What nobody needs to begin: the browser takes its time over a zone's clock.
const AFTER_MS = 400;
const LEAVING = /^\/sign-in$/;

// The address that this page stands for: its own, or the one that the server did not know (waits-here.mjs).
function addressed() {
  const at = location.pathname === "/shell" ? new URLSearchParams(location.search).get("at") : null;
  return at && /^\/(?!\/)/.test(at) ? new URL(at, location.origin).pathname : location.pathname;
}

export default class Shell {
  constructor(element) {
    this.element = element;
    this.words = new Sentences(JSON.parse(element.dataset.words));
    this.pages = new Pages();
    this.path = addressed();
    // Nothing of a page stays behind for the next person's back button.
    addEventListener("pagehide", (event) => event.persisted && element.replaceChildren());
    addEventListener("pageshow", (event) => event.persisted && location.reload());
    this.open().catch((error) => {
      console.warn("drumside: shell", error);
      this.show(this.pages.page("broken"));
    });
  }

  async open() {
    if (this.path === "/outbox") return this.show(this.pages.page("outbox"));
    // What is stored while the page is being put together is heard as well.
    let stored = false;
    subscribe((news) => {
      stored ||= news.stored?.length > 0;
      if (news.person) this.came();
      if (this.showing && news.stored?.length) this.handOver();
    });
    let waits, own;
    [this.kit, this.here, waits, own = {}] = await Promise.all([lastKit(), atTablet(), waiting(), get("here", "checks")]);
    if (!this.kit) return this.show(this.pages.page("no-kit"));
    Object.assign(this.kit, { own, waits });
    const habits = this.here && nameOf(this.kit, this.here.person_id);
    if (!habits || LEAVING.test(this.path)) return this.lock();
    this.person = { ...habits, ...this.here };
    this.sign();
    await keepShown(waits, this.here);
    this.batches = await knownBatches(this.kit, this.here, waits);
    const [route, found] = ROUTES.map(([pattern, name]) => [name, pattern.exec(this.path)]).find(([, match]) => match) ?? ["today", []];
    const page = (await this[route](...found.slice(1))) ?? this.pages.page("unknown");
    this.show(page);
    this.showing = SHOWING.has(route);
    if (this.showing && stored) this.handOver();
    setInterval(() => this.knock(), KNOCK_MS);
  }

  // Nothing tells a tablet that a server is there again. What waits is then sent, and what is only shown is shown by it.
  async knock() {
    if (document.hidden || this.knocking) return;
    this.knocking = true;
    try {
      await ask("/csrf", {}, KNOCK_MS / 2);
      await flush(WAITING);
      if (this.showing) await this.handOver();
    } catch {
      // Still not there.
    } finally {
      this.knocking = false;
    }
  }

  // The server has what was shown here: its page is the one that counts.
  async handOver() {
    const [, batchId] = /^\/batches\/([^/]+)/.exec(this.path) ?? [];
    const open = (await waiting()).filter((entry) => !batchId || entry.id === batchId || entry.batch_id === batchId);
    if (open.length) return;
    navigator.serviceWorker?.controller?.postMessage({ waitFor: this.path });
    location.replace(this.path);
  }

  // Nobody is at the tablet, or whoever is wants to go: people/idle-lock.mjs asks who takes over.
  // Somebody took over on another tab just while this one found nobody.
  came() {
    this.taken = true;
    if (this.locking && !document.querySelector(".lock-screen")) location.reload();
  }

  async lock() {
    this.locking = true;
    if (this.taken) return location.reload();
    if (LEAVING.test(this.path)) {
      await leave();
      const next = new URLSearchParams(location.search).get("next") ?? "/";
      history.replaceState(null, "", /^\/(?!\/)/.test(next) ? next : "/");
    }
    begin("idle-lock", document.body);
  }

  // As the server's pages do, for all that asks who is here.
  sign() {
    const { person, kit } = this;
    const { id, name, role } = person;
    Object.assign(document.body.dataset, { person: id, name, role, idleMinutes: kit.site.idle_minutes });
    begin("idle-lock", document.body);
    const chip = this.pages.fragment("person").firstElementChild;
    chip.href = `/sign-in?next=${encodeURIComponent(this.path)}`;
    chip.setAttribute("aria-label", this.words.say("change_person", { name }));
    chip.firstElementChild.textContent = name;
    if (role !== "trainee") chip.lastElementChild.remove();
    document.querySelector(".top .who").append(chip);
  }

  show({ title, where, main }) {
    if (title) document.title = [title, ...document.title.split(" · ").slice(-1)].join(" · ");
    if (where) document.querySelector("[data-place]").replaceChildren(...where.children);
    const parts = [...(main.children ?? [])];
    this.element.replaceChildren(...(this.kit ? [this.ageLine()] : []), ...parts);
    for (const part of parts) start(part);
    const capture = this.element.querySelector("form.capture");
    if (capture) import("./device.mjs").then(({ keepAwake }) => keepAwake(capture), console.warn);
    if (location.hash) document.getElementById(location.hash.slice(1))?.scrollIntoView();
  }

  ageLine() {
    const line = this.pages.fragment("kit-line").firstElementChild;
    const hours = Math.floor(age(this.kit) / 3_600_000);
    const fresh = () => this.words.say("kit_fresh", { time: this.time(this.kit.fetched_at) });
    if (hours) line.textContent = this.words.count("kit_age", hours);
    else setTimeout(() => line.replaceChildren(fresh()), AFTER_MS);
    if (age(this.kit) > LIMIT_MS) {
      line.classList.add("old");
      line.append(` ${this.words.say("kit_old")}`);
    }
    return line;
  }

  time(text) {
    return clock(new Date(text), this.kit.site.time_zone);
  }

  roastedAt(batch) {
    if (batch.clock) return moment(batch.day, batch.clock, this.kit.site.time_zone) ?? new Date(batch.made_at);
    return new Date(batch.roasted_at);
  }

  newBatch() {
    const { kit } = this;
    if (!kit.products.length || !kit.machines.length) return this.pages.page("not-ready");
    const today = day(new Date(), kit.site.time_zone);
    const own = [...this.batches.values()].filter((batch) => batch.clock && batch.waits).pop();
    const code = proposeCode(this.batches.values(), today);
    return fill.newBatch(this.pages.page("new-batch"), kit, { code, machineId: own?.machine_id ?? null });
  }

  batch(id) {
    const batch = this.batches.get(id);
    const made = batch && product(this.kit, batch.product_id);
    return made ? { batch, product: made } : null;
  }

  onward(batch, made, after = null) {
    return fill.wanted(made).find((kind) => kind !== after && !batch.read.has(kind)) ?? null;
  }

  capture(id, kind) {
    const known = this.batch(id);
    if (!known) return null;
    const { batch, product: made } = known;
    const query = new URLSearchParams(location.search);
    const it = choose(this.kit, batch, kind, query.get("meter") ?? batch.samples.at(-1)?.form.meter, query.get("version"));
    if (!it) return this.pages.page("not-ready");
    const same = batch.samples.filter((sample) => sample.sample_kind === kind);
    const last = same.at(-1);
    const gauge = this.pages.part("result", `.part.${kind} .gauge`);
    const whole = { ...it, product: made, onward: this.onward(batch, made, kind), stands: () => this.meterStands(it.meter) };
    return fill.capture(this.pages.page("capture"), gauge, whole, {
      words: this.words,
      person: this.person,
      pictures: this.element.dataset.pictures,
      earlier: last ? { clock: this.time(last.made_at), name: this.person.name } : null,
      stored: same.map((sample) => sample.id),
    });
  }

  // After the form: nobody needs it to begin.
  async meterStands(meter) {
    await new Promise((done) => setTimeout(done, AFTER_MS));
    const { fine, meterState, meterText } = await import("./meter-state.mjs");
    const read = [...this.batches.values()].flatMap((batch) => batch.samples).filter((one) => one.form.meter === meter.id);
    const stands = meterState(meter, Date.now(), this.kit.own, read.map((one) => Date.parse(one.made_at)));
    return { said: meterText(stands, this.words, this.kit.site.time_zone), fine: fine(stands.state) };
  }

  // The forms of the gear, of a comparison and of a precision study.
  async gear(...found) {
    const { gearPage } = await import("./gear-fill.mjs");
    return (await gearPage(this, found)) ?? this.pages.page("elsewhere");
  }

  async result(id) {
    const known = this.batch(id);
    if (!known) return null;
    // Only here: what a form does not need does not hold it up.
    const [{ waitingHands }, { opened, workOut }, { fillHow, fillResult }] = await Promise.all([
      import("./hands.mjs"), import("./standing.mjs"), import("./result-view.mjs"),
    ]);
    const { batch, product: made } = known;
    const stands = workOut(this.kit, made.id, batch.samples);
    const own = new Set(batch.samples.filter((sample) => opened(this.kit, sample)).map((sample) => sample.sample_kind));
    const { decision } = batch;
    const it = {
      batch, product: made, stands, role: this.person.role, hands: waitingHands(this.kit, batch),
      missing: fill.wanted(made).filter((kind) => !batch.read.has(kind)),
      elsewhere: [...batch.read].filter((kind) => !own.has(kind)),
      lines: this.lines(batch),
      decision: decision && { ...decision.form, name: this.person.name, clock: this.time(decision.made_at) },
    };
    const page = fillResult(this.pages, it, this.words);
    if (stands) page.main.firstElementChild.querySelector(":scope > .actions").before(fillHow(this.pages, it, this.words));
    return page;
  }

  lines(batch) {
    const { words, kit } = this;
    const by = machine(kit, batch.machine_id)?.name ?? "";
    const lines = [[words.say("roasted"), `${clock(this.roastedAt(batch), kit.site.time_zone)}, ${by}`]];
    const loss = fill.roastLoss(batch, words.mark);
    if (loss) lines.push([words.say("roast_loss"), loss]);
    for (const sample of batch.samples) {
      lines.push([words.say(`${sample.sample_kind}_by`), `${this.person.name}, ${this.time(sample.made_at)}`]);
    }
    return lines;
  }

  reason(id, what) {
    const known = this.batch(id);
    if (!known || this.person.role === "trainee") return null;
    return fill.reason(this.pages.page(`reason-${what}`), known, this.words.say(`title_${what}`, { code: known.batch.code }));
  }

  // What this tablet has of today, the newest first; older batches while something of them waits.
  today() {
    const page = this.pages.page("today");
    const zone = this.kit.site.time_zone;
    const today = day(new Date(), zone);
    const found = [...this.batches.values()]
      .map((batch) => ({ batch, product: product(this.kit, batch.product_id), at: this.roastedAt(batch) }))
      .filter((one) => one.product && (one.batch.waits || day(one.at, zone) === today))
      .sort((a, b) => b.at - a.at);
    const list = page.main.querySelector("[data-batches]");
    repeat(list.firstElementChild, found, (row, { batch, product: made, at }) => {
      const put = (name, text) => (row.querySelector(`[data-${name}]`).textContent = text);
      const open = fill.wanted(made).filter((kind) => !batch.read.has(kind));
      const kinds = open.map((kind) => this.words.say(kind).toLowerCase()).join(", ");
      row.querySelector("a").href = `/batches/${batch.id}/${open[0] && !batch.samples.length ? open[0] : "result"}`;
      put("code", batch.code);
      put("product", made.name);
      put("clock", clock(at, zone));
      const states = [kinds && this.words.say("to_read", { kinds }), batch.waits && this.words.say("kept")];
      put("state", states.filter(Boolean).join(" · "));
    });
    page.main.querySelector("[data-none]").hidden = found.length > 0;
    list.hidden = !found.length;
    const gear = page.main.querySelector("[data-gear]");
    import("./today-gear.mjs").then(({ fillGear }) => fillGear(this, gear)).catch(console.warn);
    return page;
  }
}
