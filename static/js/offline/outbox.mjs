// Finished records wait here until the server has said that it has them. Nothing else takes one out: see flush.mjs.
// An entry is the record as it is sent, and beside it what this tablet notes about it:
//   state     saved (it is on this tablet), sent (the answer is awaited), attention (somebody has to look at it),
//             aside (looked at and laid aside by a person; kept, not sent)
//   saved_at, tries, next_at (ms), answer (the server's word about it), build, who and about (words for the list)
import { after, all, each, within } from "./store.mjs";

export const BUILD = /\/static\/([^/]+)\//.exec(import.meta.url)?.[1] ?? "";
const RECORD = ["id", "kind", "batch_id", "sample_kind", "person_id", "claim_id", "made_at", "claimed_at", "seq", "form"];
const ID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

const channel = new BroadcastChannel("drumside");
const listeners = new Set();
channel.onmessage = (event) => heard(event.data);

function heard(news) {
  for (const listener of listeners) listener(news);
}

// News from this and every other tab: {state: "saved"}, {stored: [ids]}, {pause}, ...
export function subscribe(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

export function tell(news) {
  channel.postMessage(news);
  heard(news);
}

export const toRecord = (entry) => Object.fromEntries(RECORD.filter((name) => name in entry).map((name) => [name, entry[name]]));

// Puts a record into the transaction's outbox, with this tablet's next number.
export function add(outbox, here, record) {
  after(here.get("seq"), (last = 0) => {
    const seq = last + 1;
    here.put(seq, "seq");
    const times = { saved_at: new Date().toISOString(), tries: 0, next_at: 0 };
    outbox.put({ ...record, seq, ...times, state: "saved", answer: null, build: BUILD });
  });
}

// Whether two records under one number say the same; when it was read does not count, a form may be finished twice.
function same(one, other) {
  const said = ({ person_id: person, form }) => JSON.stringify([person, { ...form, made_at: "" }]);
  return said(one) === said(other);
}

// Resolves with the record as it is kept when it is on this tablet's disk; the draft that it was made from goes in the
// same step. Under one number nothing takes the place of what waits, unless somebody has to look at that: the same form
// finished in two tabs with two contents is two records, and with one content one.
export async function put(record, draft) {
  if (!ID.test(record.id ?? "")) throw new TypeError("a record without its number");
  let kept = record;
  await within(["outbox", "here", "drafts"], "readwrite", (outbox, here, drafts) => {
    after(outbox.get(record.id), (there) => {
      const waits = there && !["attention", "aside"].includes(there.state);
      if (waits && same(there, record)) kept = there;
      else {
        if (waits) {
          const id = crypto.randomUUID();
          kept = { ...record, id, form: { ...record.form, id } };
        }
        add(outbox, here, kept);
      }
      if (draft) drafts.delete(draft);
    });
  });
  tell({ state: "saved", id: kept.id });
  return kept;
}

// Everything that is here, in the order in which it was finished.
export const inOrder = (entries) =>
  entries.sort((a, b) => (a.saved_at < b.saved_at ? -1 : a.saved_at > b.saved_at ? 1 : a.seq - b.seq));

export const waiting = async () => inOrder(await all("outbox"));

// Notes something about entries, in one step: `changes(entry)` gives what is new. One that was put anew since is left.
export async function note(entries, changes) {
  await within(["outbox"], "readwrite", (outbox) => {
    for (const entry of entries) {
      after(outbox.get(entry.id), (now) => now?.seq === entry.seq && outbox.put({ ...now, ...changes(now) }));
    }
  });
}

// The server has named these: they and their drafts are not needed here any more.
export async function drop(entries) {
  if (!entries.length) return;
  await within(["outbox", "drafts"], "readwrite", (outbox, drafts) => {
    for (const entry of entries) after(outbox.get(entry.id), (now) => now?.seq === entry.seq && outbox.delete(entry.id));
    const ids = new Set(entries.map((entry) => entry.id));
    each(drafts, (cursor) => ids.has(cursor.value?.fields?.id) && cursor.delete());
  });
}

// The words for what waits, from the corner of the page, where the server has put them; and how they are filled in.
export const words = () => document.querySelector("[data-saved]")?.dataset ?? {};

export const fill = (text = "", values = {}) => text.replace(/\{(\w+)\}/g, (_all, name) => values[name] ?? "");

// How long ago: "12 min", "3 h", "5 days".
export function age(since, now = Date.now()) {
  const minutes = Math.max(0, Math.floor((now - Date.parse(since)) / 60_000));
  if (minutes < 90) return fill(words().minutes, { n: minutes || "<1" });
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? fill(words().hours, { n: hours }) : fill(words().days, { n: Math.floor(hours / 24) });
}

export function clock(moment) {
  const shape = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  return new Date(moment).toLocaleTimeString(document.documentElement.lang, shape);
}
