// The page of what waits: each entry with its state, its age, who made it and what it is, and what can be done about it.
import { atTablet, openClaims } from "./claims.mjs";
import { EVERYTHING, WAITING, flush } from "./flush.mjs";
import { age, clock, fill, note, subscribe, tell, waiting } from "./outbox.mjs";
import { asNew, confirm } from "./settle.mjs";
import { get, put, remove } from "./store.mjs";
import { saveFile, takeFile } from "./transfer.mjs";

const EVERY_MS = 5000;

export default class OutboxPage {
  constructor(page) {
    this.page = page;
    this.words = page.dataset;
    this.labels = JSON.parse(page.dataset.fields);
    this.on("send-now", () => this.send());
    this.on("save-file", async () => saveFile(await waiting()));
    this.on("remarks-read", () => remove("here", "remarks"));
    this.part("take-file").addEventListener("change", (event) => this.take(event.target));
    subscribe(() => this.show());
    setInterval(() => this.show(), EVERY_MS);
    const next = new URLSearchParams(location.search).get("next") ?? "";
    // A path of this app, never another site.
    this.next = /^\/(?![/\\])/.test(next) ? next : null;
    this.show();
  }

  part(name, within = this.page) {
    return within.querySelector(`[data-${name}]`);
  }

  on(name, work, within = this.page) {
    this.part(name, within).addEventListener("click", async () => {
      await work();
      this.show();
    });
  }

  // Writes into a part of the page, or of one of its entries.
  write(name, text, within = this.page) {
    this.part(name, within).textContent = text;
  }

  say(text) {
    this.write("said", text);
  }

  async send() {
    const said = await flush(EVERYTHING);
    this.say({ done: this.words.saidDone, paused: this.words.saidPaused, busy: this.words.saidBusy }[said] ?? this.words.saidUnreachable);
  }

  async take(input) {
    try {
      this.say(fill(this.words.fileGood, { n: await takeFile(input.files[0]) }));
      flush(WAITING);
    } catch (error) {
      this.say({ broken: this.words.fileBroken, other: this.words.fileOther }[error.message] ?? this.words.full);
    }
    input.value = "";
  }

  show() {
    return this.draw().catch((error) => console.warn("drumside: list", error));
  }

  async draw() {
    const entries = await waiting();
    if (this.next && !entries.some((entry) => this.next.includes(entry.id))) return location.replace(this.next);
    const here = await atTablet();
    this.summary(entries.filter((entry) => entry.state !== "aside"));
    await this.pause();
    this.keyed(this.part("entries"), entries, "entry", (entry, item) => this.entry(entry, item, here));
    const claims = await openClaims();
    this.part("claims").hidden = !claims.length;
    this.keyed(this.part("claim-list"), claims, "claim", (claim, item) => this.claim(claim, item));
    const remarks = (await get("here", "remarks")) ?? [];
    this.part("remarks").hidden = !remarks.length;
    this.lines(this.part("remark-list"), remarks.map(({ about, text }) => (about ? `${about}: ${text}` : text)));
  }

  summary(entries) {
    const values = entries.length ? { n: entries.length, age: age(entries[0].saved_at) } : {};
    this.write("summary", fill([this.words.none, this.words.one][entries.length] ?? this.words.some, values));
  }

  async pause() {
    const why = await get("here", "pause");
    this.part("pause").hidden = !why;
    const texts = { sign_in: this.words.pauseSignIn, not_enrolled: this.words.pauseNotEnrolled };
    this.write("pause-text", texts[why] ?? this.words.pauseOther);
    this.part("pin-link").hidden = why === "not_enrolled";
  }

  // One element for each thing, made once and kept, so that nothing jumps or loses what is typed into it.
  keyed(list, things, template, draw) {
    const old = new Map([...list.children].map((item) => [item.dataset.id, item]));
    for (const thing of things) {
      let item = old.get(thing.id);
      old.delete(thing.id);
      if (!item) {
        item = this.page.querySelector(`template[data-${template}]`).content.firstElementChild.cloneNode(true);
        item.dataset.id = thing.id;
        item.fresh = true;
        list.append(item);
      }
      draw(thing, item);
      item.fresh = false;
    }
    for (const item of old.values()) item.remove();
  }

  lines(list, texts) {
    list.hidden = !texts.length;
    list.replaceChildren(...texts.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
  }

  kind({ kind, sample_kind: sampleKind }) {
    const key = sampleKind ? `${kind}-${sampleKind}` : kind;
    return this.words[`kind${key.replace(/(?:^|-)./g, (part) => part.at(-1).toUpperCase())}`] ?? kind;
  }

  entry(entry, item, here) {
    const { state, answer } = entry;
    const looks = state === "attention";
    this.write("what", [this.kind(entry), entry.about].filter(Boolean).join(" · "), item);
    this.write("age", age(entry.saved_at), item);
    this.write("state", this.words[`state${state[0].toUpperCase()}${state.slice(1)}`], item);
    this.part("state", item).className = looks ? "word outside" : "word";
    this.write("by", entry.who ? fill(this.words.who, { name: entry.who }) : "", item);
    const wait = Math.ceil((entry.next_at - Date.now()) / 1000);
    const next = wait > 90 ? fill(document.querySelector("[data-saved]").dataset.minutes, { n: Math.ceil(wait / 60) }) : fill(this.words.seconds, { n: wait });
    this.write("tries", state === "saved" && wait > 0 ? fill(this.words.next, { n: entry.tries, time: next }) : "", item);
    // What was read is shown to nobody while nobody is at the tablet.
    const shown = here && looks;
    this.lines(this.part("problems", item), shown ? (answer?.problems ?? []).map((problem) => problem.message) : []);
    const both = shown && answer?.ours ? answer : { ours: {}, theirs: {} };
    this.part("versions", item).hidden = both !== answer;
    this.versions(this.part("versions", item).querySelector("tbody"), both);
    this.part("choices", item).hidden = !here || !(looks || state === "aside");
    this.part("open", item).hidden = !looks || answer?.status === 409 || entry.kind === "claim";
    this.part("as-new", item).hidden = !looks || answer?.status !== 409;
    this.part("aside", item).hidden = !looks;
    this.part("back", item).hidden = state !== "aside";
    if (!item.fresh) return;
    const now = async () => (await waiting()).find((one) => one.id === entry.id) ?? entry;
    this.on("open", async () => this.open(await now()), item);
    this.on("as-new", async () => asNew(await now()).then(() => flush(WAITING)), item);
    this.on("aside", async () => this.move(await now(), { state: "aside" }), item);
    this.on("back", async () => this.move(await now(), { state: "saved", answer: null, next_at: 0 }), item);
  }

  async move(entry, change) {
    await note([entry], () => change);
    tell({ state: change.state });
    if (change.state === "saved") await flush(WAITING);
  }

  // Only what differs; "ours" is the server's.
  versions(body, { ours, theirs }) {
    const names = Object.keys(ours).filter((name) => this.labels[name] && readable(ours[name], name) !== readable(theirs[name], name));
    body.replaceChildren(
      ...names.map((name) => {
        const row = document.createElement("tr");
        const cells = [this.labels[name], readable(ours[name], name), readable(theirs[name], name)];
        row.append(...cells.map((text, at) => Object.assign(document.createElement(at ? "td" : "th"), { textContent: text })));
        row.firstChild.scope = "row";
        return row;
      }),
    );
  }

  // The form with everything that was typed, under the same number. The entry stays until it is stored or replaced.
  async open({ kind, batch_id: batch, sample_kind: sampleKind, form, saved_at: at, page, draft }) {
    if (page) {
      await put("drafts", draft, { fields: form, at });
      return location.assign(page);
    }
    const key = kind === "batch" ? "new-batch" : `${batch}/${sampleKind ?? form.what}`;
    await put("drafts", key, { fields: form, at });
    if (kind === "batch") return location.assign("/batches/new");
    if (kind === "sample") return location.assign(`/batches/${batch}/${sampleKind}?meter=${encodeURIComponent(form.meter)}`);
    location.assign(`/batches/${batch}/${kind === "countersignature" || form.what === "release" ? "result" : `decision/${form.what}`}`);
  }

  claim(claim, item) {
    this.write("name", claim.name, item);
    this.write("age", fill(this.words.since, { time: clock(claim.claimed_at) }), item);
    if (!item.fresh) return;
    this.part("pin-form", item).addEventListener("submit", async (event) => {
      event.preventDefault();
      const [input, wrong] = [this.part("pin", item), this.part("wrong", item)];
      let text = this.words.saidUnreachable;
      try {
        // The server has to know of the claim before it can be confirmed.
        const said = await flush(WAITING);
        if (said === "paused") text = this.words.saidPaused;
        const answer = await confirm(claim.id, input.value);
        text = answer.ok ? "" : answer.message || text;
        if (answer.ok) flush(EVERYTHING);
      } catch {
        // The words are there already.
      }
      input.value = "";
      wrong.textContent = text;
      wrong.hidden = !text;
      this.show();
    });
  }
}

function readable(value, name) {
  if (value === null || value === undefined || value === "") return "–";
  if (Array.isArray(value)) return value.map((one) => (Array.isArray(one) ? one.at(-1) : (one.typed ?? one.no))).join(", ");
  if (typeof value === "object") return value.name ?? value.id ?? "–";
  if (typeof value !== "number") return String(value);
  if (name.endsWith("_cg")) return `${value / 100} g`;
  if (name.endsWith("_um")) return `${value} µm`;
  if (name.endsWith("_g")) return `${value / 1000} kg`;
  if (name.endsWith("_decicelsius")) return `${value / 10} °C`;
  if (name.endsWith("_s")) return `${Math.floor(value / 60)}:${String(value % 60).padStart(2, "0")}`;
  return String(value);
}
