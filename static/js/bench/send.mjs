// The one way in: a finished form becomes a record that is first put on this tablet's disk and then sent. What the server
// wants to say beside a field it says in its own page: the same form is posted the plain way, under the same number.
import { send as post } from "../offline/ask.mjs";
import { atTablet, ownToken } from "../offline/claims.mjs";
import { WAITING, flush } from "../offline/flush.mjs";
import { BUILD, put, subscribe, toRecord, waiting, words } from "../offline/outbox.mjs";

const PATIENCE_MS = 4000;
const SKIP = new Set(["csrf_token", "next", "take"]);
// What a person can only settle on the server's own page.
const ON_PAGE = new Set(["invalid", "confirm", "role"]);
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

export default class Send {
  // record(fields): what makes it a record (kind, batch_id, sample_kind, about). next(wanted, fields): the address
  // after it. open(): the field that keeps it from being finished, or nothing. doubt(): whether the server, if it is
  // there, is to be asked in its own page first. draft: what is kept while it is typed.
  constructor(form, { record, next, open = () => null, doubt = async () => false, draft = null }) {
    Object.assign(this, { form, record, next, open, doubt, draft });
    form.addEventListener("submit", (event) => this.submit(event));
  }

  submit(event) {
    if (this.plainly) return;
    event.preventDefault();
    // A second tap is the same tap.
    if (this.busy) return;
    this.busy = true;
    this.button = event.submitter;
    this.go();
  }

  async go() {
    const field = this.open();
    if (field) return this.unfinished(field);
    if (await this.doubt().catch(() => false)) {
      const token = await ownToken(PATIENCE_MS).catch(() => null);
      if (token) return this.plain(token);
    }
    const here = await atTablet().catch(() => null);
    const { person, name } = document.body.dataset;
    // Somebody else came by another tab just now: the page is made anew for them, with what was typed.
    if (here && person && here.person_id !== person) {
      await this.draft?.save();
      return location.replace(location.pathname + location.search);
    }
    let record = this.make(here ?? { person_id: person, name });
    try {
      record = await put(record, this.draft?.key);
    } catch (error) {
      return this.withoutDisk(record, error);
    }
    if (this.draft) this.draft.over = true;
    await this.follow(record, await this.outcome(record.id));
  }

  make(here) {
    const form = {};
    for (const [name, value] of new FormData(this.form)) if (!SKIP.has(name)) form[name] = value;
    return {
      id: form.id,
      person_id: here.person_id,
      claim_id: here.claim_id ?? null,
      made_at: form.made_at || new Date().toISOString(),
      form,
      who: here.name,
      ...this.record(form),
    };
  }

  // What has become of it within a few seconds: "stored", "unreachable", "paused", "late", or the server's word on it.
  async outcome(id) {
    const end = Date.now() + PATIENCE_MS;
    for (;;) {
      const late = pause(end - Date.now()).then(() => "late");
      const said = await Promise.race([flush(WAITING), late]);
      const entry = (await waiting()).find((one) => one.id === id);
      if (!entry) return "stored";
      if (entry.state === "attention") return entry.answer;
      if (said !== "busy" || Date.now() > end) return said;
      await pause(200);
    }
  }

  async follow(record, outcome) {
    const next = this.address(record);
    if (outcome.status) return ON_PAGE.has(outcome.error) ? this.plain() : location.assign("/outbox");
    if (outcome === "paused") {
      return location.assign(`/sign-in?next=${encodeURIComponent(`/outbox?next=${encodeURIComponent(next)}`)}`);
    }
    // Without the app's own worker there is no page to go to; this one stays until the server is back.
    if (outcome === "unreachable" && !navigator.serviceWorker?.controller) return this.stay(record.id, next);
    location.assign(next);
  }

  address(record) {
    return this.next(this.button?.name === "next" ? this.button.value : "", record.form);
  }

  stay(id, next) {
    this.say(words().stays);
    for (const field of this.form.elements) field.disabled = true;
    subscribe((news) => news.stored?.includes(id) && location.assign(next));
  }

  // Something is missing. The server says it best; without it the place is shown, and nothing counts as finished.
  async unfinished(field) {
    const token = await ownToken(PATIENCE_MS).catch(() => null);
    if (token) return this.plain(token);
    this.busy = false;
    this.say(words().unfinished);
    field.closest("[hidden]")?.removeAttribute("hidden");
    field.focus();
  }

  async plain(known) {
    const token = known ?? (await ownToken(PATIENCE_MS).catch(() => null));
    if (!token) return location.assign("/outbox");
    let field = this.form.elements.csrf_token;
    if (!field) {
      field = Object.assign(document.createElement("input"), { type: "hidden", name: "csrf_token" });
      this.form.append(field);
    }
    field.value = token;
    this.plainly = true;
    this.form.requestSubmit(this.button);
  }

  // This tablet cannot keep it. Perhaps the server can take it at once; what was typed stays on the screen until then.
  async withoutDisk(record, error) {
    console.warn("drumside: not kept", error);
    this.say(error?.name === "QuotaExceededError" ? words().full : words().broken);
    try {
      const list = { records: [toRecord(record)], build: BUILD };
      const { body } = await post("/records", await ownToken(PATIENCE_MS), list, PATIENCE_MS);
      if (body.stored?.includes(record.id)) return location.assign(this.address(record));
      if (ON_PAGE.has(body.results?.[0]?.error)) return this.plain();
    } catch {
      // Nobody took it: the words on the screen say so.
    }
    this.busy = false;
  }

  say(text) {
    if (!this.line) {
      this.line = document.createElement("p");
      this.line.className = "caution";
      this.line.setAttribute("role", "alert");
      const place = this.button ?? this.form;
      (place.closest(".actions") ?? place).before(this.line);
    }
    this.line.textContent = text;
  }
}
