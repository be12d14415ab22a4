// The page that the service worker gives when the server cannot be reached: chooses what belongs to the address, and
// fills it from the kit and from what this tablet has.
// What a form does not need is imported when the form can be used: see `after`.
import { begin, load, start } from "../app.mjs";
import { foresee } from "../bench/draft.mjs";
import { choose, here, keepShown, knownBatches, person as nameOf, product, proposeCode, wanted } from "./known.mjs";
import { subscribe, waiting } from "./outbox.mjs";
import { Pages, Sentences, clock, day, moment, repeat } from "./parts.mjs";
import { touchedAt } from "./store.mjs";

const ID = "([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})";
const ROUTES = [
  [/^\/batches\/new$/, "newBatch"],
  [new RegExp(`^/batches/${ID}/(whole|ground)$`), "capture"],
  [new RegExp(`^/batches/${ID}(?:/result)?$`), "result"],
  [new RegExp(`^/batches/${ID}/decision/(release|hold|remeasure|reject|concession)$`), "reason"],
  [new RegExp(`^/gear/(meters|grinders)/${ID}/([a-z-]+)$`), "gear"],
  [new RegExp(`^/(studies/precision)/${ID}/(\\d+)$`), "gear"],
  [new RegExp(`^/(comparisons)/${ID}/(\\d+)/([ab])$`), "gear"],
];
// What only shows something is shown by the server as soon as it has it; a form is never taken away.
const SHOWING = new Set(["result", "today"]);
const KNOCK_MS = 8000;
// Older than this, the bench says so.
const LIMIT_MS = 12 * 3_600_000;
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
    // Resolves when the page can be used: what nobody needs to begin comes then.
    this.after = new Promise((done) => (this.usable = done));
    // Nothing of a page stays behind for the next person's back button.
    addEventListener("pagehide", (event) => event.persisted && element.replaceChildren());
    addEventListener("pageshow", (event) => event.persisted && location.reload());
    const broken = (error) => {
      console.warn("drumside: shell", error);
      return this.show(this.pages.page("broken"));
    };
    this.ready = this.open().catch(broken).then(() => this.settle());
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
    const [route, match] = ROUTES.map(([pattern, name]) => [name, pattern.exec(this.path)]).find(([, one]) => one) ?? ["today", []];
    const draft = route === "newBatch" ? "new-batch" : match.slice(1).join("/");
    const found = await here(draft);
    const { kit, person, waits } = found;
    if (!kit) return this.show(this.pages.page("no-kit"));
    Object.assign(this, { kit: Object.assign(kit, { own: found.checks, waits }), here: person });
    const habits = person && nameOf(kit, person.person_id);
    if (!habits || LEAVING.test(this.path)) return this.lock();
    this.person = { ...habits, ...person };
    this.sign();
    // Left alone for too long: who is here is asked before anything is shown.
    if (this.leftAlone()) return this.guard();
    this.batches = knownBatches(kit, person, found);
    foresee(draft, found.draft);
    await this.show((await this[route](...match.slice(1))) ?? this.pages.page("unknown"));
    // Before anything is sent, and so may go.
    await keepShown(waits, person).catch(console.warn);
    this.showing = SHOWING.has(route);
    if (this.showing && stored) this.handOver();
    setInterval(() => this.knock(), KNOCK_MS);
  }

  // The page can be used, whatever became of it.
  settle() {
    this.usable();
    if (this.person) this.guard();
  }

  // people/idle-lock.mjs asks who takes over.
  guard() {
    this.guarded ??= begin("idle-lock", document.body);
  }

  leftAlone() {
    const [at, now] = [touchedAt(), Date.now()];
    return at > 0 && at <= now && now - at >= (this.kit.site.idle_minutes || 10) * 60_000;
  }

  // Nothing tells a tablet that a server is there again. What waits is then sent, and what is only shown is shown by it.
  async knock() {
    if (document.hidden || this.knocking) return;
    this.knocking = true;
    try {
      const [{ ask }, { WAITING, flush }] = await Promise.all([import("./ask.mjs"), import("./flush.mjs")]);
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

  // Nobody is at the tablet, or whoever is wants to go.
  // Somebody took over on another tab just while this one found nobody.
  came() {
    this.taken = true;
    if (this.locking && !document.querySelector(".lock-screen")) location.reload();
  }

  async lock() {
    this.locking = true;
    if (this.taken) return location.reload();
    if (LEAVING.test(this.path)) {
      const { leave } = await import("./claims.mjs");
      await leave();
      const next = new URLSearchParams(location.search).get("next") ?? "/";
      history.replaceState(null, "", /^\/(?!\/)/.test(next) ? next : "/");
    }
    this.guard();
  }

  // As the server's pages do, for all that asks who is here.
  sign() {
    const { person, kit } = this;
    const { id, name, role } = person;
    Object.assign(document.body.dataset, { person: id, name, role, idleMinutes: kit.site.idle_minutes });
    const chip = this.pages.fragment("person").firstElementChild;
    chip.href = `/sign-in?next=${encodeURIComponent(this.path)}`;
    chip.setAttribute("aria-label", this.words.say("change_person", { name }));
    chip.firstElementChild.textContent = name;
    if (role !== "trainee") chip.lastElementChild.remove();
    document.querySelector(".top .who").append(chip);
  }

  async show({ title, where, main }) {
    const parts = [...(main.children ?? [])];
    await Promise.all(parts.map(load));

    if (title) document.title = [title, ...document.title.split(" · ").slice(-1)].join(" · ");
    if (where) document.querySelector("[data-place]").replaceChildren(...where.children);
    this.element.replaceChildren(...(this.kit ? [this.ageLine()] : []), ...parts);
    if (location.hash) document.getElementById(location.hash.slice(1))?.scrollIntoView();
    await Promise.all(parts.map(start));
  }

  ageLine() {
    const line = this.pages.fragment("kit-line").firstElementChild;
    const age = Math.max(0, Date.now() - Date.parse(this.kit.fetched_at));
    const hours = Math.floor(age / 3_600_000);
    const fresh = () => this.words.say("kit_fresh", { time: this.time(this.kit.fetched_at) });
    if (hours) line.textContent = this.words.count("kit_age", hours);
    else this.after.then(() => line.replaceChildren(fresh()));
    if (age > LIMIT_MS) {
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
    const page = this.pages.page("new-batch");
    const form = page.main.querySelector("form");
    const [zone, now] = [kit.site.time_zone, new Date()];
    const today = day(now, zone);
    // The likely machine: the only one, or that of the batch before.
    const own = [...this.batches.values()].filter((batch) => batch.clock && batch.waits).pop();
    options(form, "product", kit.products, null);
    options(form, "machine", kit.machines, kit.machines.length === 1 ? kit.machines[0].id : own?.machine_id);
    const code = proposeCode(this.batches.values(), today);
    const values = { id: crypto.randomUUID(), code, day: today, clock: clock(now, zone) };
    for (const [name, value] of Object.entries(values)) form.querySelector(`[name="${name}"]`).setAttribute("value", value);
    form.dataset.first = JSON.stringify(Object.fromEntries(kit.products.map((one) => [one.id, wanted(one)[0]])));
    return page;
  }

  batch(id) {
    const batch = this.batches.get(id);
    const made = batch && product(this.kit, batch.product_id);
    return made ? { batch, product: made } : null;
  }

  onward(batch, made, after = null) {
    return wanted(made).find((kind) => kind !== after && !batch.read.has(kind)) ?? null;
  }

  async capture(id, kind) {
    const known = this.batch(id);
    if (!known) return null;
    const { capture } = await import("./capture-fill.mjs");
    const { batch, product: made } = known;
    const query = new URLSearchParams(location.search);
    const it = choose(this.kit, batch, kind, query.get("meter") ?? batch.samples.at(-1)?.form.meter, query.get("version"));
    if (!it) return this.pages.page("not-ready");
    const same = batch.samples.filter((sample) => sample.sample_kind === kind);
    const last = same.at(-1);
    const gauge = this.pages.part("gauges", `.${kind}`);
    const whole = { ...it, product: made, onward: this.onward(batch, made, kind), stands: () => this.after.then(() => this.meterStands(it.meter)) };
    return capture(this.pages.page("capture"), gauge, whole, {
      words: this.words,
      person: this.person,
      pictures: this.element.dataset.pictures,
      earlier: last ? { clock: this.time(last.made_at), name: this.person.name } : null,
      stored: same.map((sample) => sample.id),
    });
  }

  async meterStands(meter) {
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
    return (await import("./shown.mjs")).resultPage(this, id);
  }

  async reason(id, what) {
    return (await import("./shown.mjs")).reasonPage(this, id, what);
  }

  async today() {
    return (await import("./shown.mjs")).todayPage(this);
  }
}

function options(form, name, choices, chosen) {
  repeat(form.querySelector(`#${name} .option`), choices, (option, choice, index) => {
    const input = option.querySelector("input");
    input.id = `${name}-${index}`;
    input.setAttribute("value", choice.id);
    if (choice.id === chosen) input.setAttribute("checked", "");
    option.querySelector("span").textContent = choice.name;
  });
}
