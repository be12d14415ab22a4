// Sends what waits. One tab at a time; nothing is taken out but what a JSON answer of ours names as stored: not for a
// redirect, a sign-in page, a portal's page, an empty answer or an error. What fails is tried again, five minutes apart
// at most, and at once when the network is back, the page is seen again, a page opens, or somebody says "Send now".
import { Stop, freshToken, send } from "./ask.mjs";
import { ownToken } from "./claims.mjs";
import { BUILD, drop, note, tell, toRecord, waiting } from "./outbox.mjs";
import { after, put, within } from "./store.mjs";

const FIRST_MS = 1000;
const MOST_MS = 300_000;
const AT_ONCE = 50;
// The server takes a quarter of a megabyte at once.
const LARGEST = 150_000;
// A server that fails on everything is left alone for now; one bad record among fifty is found with seven splits.
const STRIKES = 8;
const LOOK = new Set([400, 403, 404, 409, 413, 422]);

// Which entries go: those that are due, all that nobody has to look at, or all but those laid aside.
export const DUE = 0;
export const WAITING = 1;
export const EVERYTHING = 2;

let timer;

const backoff = (tries) => Math.min(MOST_MS, FIRST_MS * 2 ** Math.min(tries, 12)) * (0.5 + Math.random() / 2);
const later = (entry) => ({
  state: entry.answer ? "attention" : "saved",
  tries: entry.tries + 1,
  next_at: Date.now() + backoff(entry.tries),
});

// Tries to send, and says how it went: "done" (everything due was answered), "paused" (a PIN is asked for),
// "unreachable", or "busy" (another tab is at it).
export async function flush(reach = DUE) {
  clearTimeout(timer);
  const work = () =>
    round(reach).catch((error) => {
      console.warn("drumside: sending", error);
      return "unreachable";
    });
  const said = navigator.locks
    ? await navigator.locks.request("drumside-flush", { ifAvailable: true }, (lock) => (lock ? work() : "busy"))
    : await work();
  await arm(said);
  return said;
}

async function round(reach) {
  const run = { strikes: 0, token: null };
  const tried = new Set();
  const key = (entry) => `${entry.id} ${entry.seq}`;
  for (;;) {
    const now = Date.now();
    const due = (await waiting()).filter((entry) => goes(entry, reach, now) && !tried.has(key(entry)));
    if (!due.length) return "done";
    const list = some(due);
    for (const entry of list) tried.add(key(entry));
    try {
      run.token ??= await ownToken();
      await deliver(list, run);
    } catch (stop) {
      if (!(stop instanceof Stop)) throw stop;
      await note(due, later);
      await setPause(stop.pause);
      return stop.pause ? "paused" : "unreachable";
    }
  }
}

function some(due) {
  let size = 0;
  const fits = (entry, index) => (size += JSON.stringify(entry.form).length) <= LARGEST || index === 0;
  const end = due.slice(0, AT_ONCE).findIndex((entry, index) => !fits(entry, index));
  return due.slice(0, end === -1 ? AT_ONCE : end);
}

function goes(entry, reach, now) {
  if (entry.state === "aside") return false;
  if (entry.state === "attention") return reach === EVERYTHING;
  return reach !== DUE || entry.next_at <= now;
}

async function deliver(list, run, again = true) {
  // One that somebody has to look at keeps saying so while it is tried once more.
  await note(list, (entry) => (entry.answer ? {} : { state: "sent" }));
  tell({ state: "sent" });
  const { status, body } = await send("/records", run.token, { records: list.map(toRecord), build: BUILD });
  if (status === 200 && Array.isArray(body.stored)) {
    run.strikes = 0;
    await setPause(null);
    return take(list, body);
  }
  if (status === 400 && body.error === "csrf_stale") {
    if (!again) throw new Stop("the token is never right");
    run.token = await freshToken();
    return deliver(list, run, false);
  }
  if (status === 401 || status === 403) throw new Stop("not to be sent now", body.error ?? "refused");
  if (![400, 413, 422, 500].includes(status)) throw new Stop(`answer ${status}`);
  if (status === 500 && ++run.strikes >= STRIKES) throw new Stop("it fails on everything");
  if (list.length > 1) {
    const half = Math.ceil(list.length / 2);
    await deliver(list.slice(0, half), run);
    return deliver(list.slice(half), run);
  }
  const answer = { status, error: body.error ?? "", problems: body.problems ?? [] };
  await note(list, (entry) => (status === 500 ? later(entry) : { state: "attention", answer }));
  tell({ state: "attention" });
}

// What the server said of each record: stored ones go, the others keep its word.
async function take(list, { stored, results }) {
  const named = new Set(stored);
  const gone = list.filter((entry) => named.has(entry.id));
  await drop(gone);
  const words = new Map((Array.isArray(results) ? results : []).map((result) => [result.id, result]));
  const here = await waiting();
  const comes = (entry) => ["saved", "sent"].includes(entry.state) && !LOOK.has(words.get(entry.id)?.status);
  const coming = new Set(here.filter(comes).map((entry) => entry.id));
  const stay = list.filter((entry) => !named.has(entry.id));
  await note(stay, (entry) => {
    const answer = words.get(entry.id);
    // What it belongs to waits here as well and goes before it: nobody has to look at that.
    const waits = answer?.status === 404 && (coming.has(entry.batch_id) || coming.has(entry.claim_id));
    return answer && LOOK.has(answer.status) && !waits ? { state: "attention", answer } : later(entry);
  });
  // A batch that had to be put right is stored now: what waited for it can go.
  const freed = here.filter((e) => e.answer?.status === 404 && (named.has(e.batch_id) || named.has(e.claim_id)));
  await note(freed, () => ({ state: "saved", answer: null, next_at: 0 }));
  await remember(gone, words);
  tell({ state: "answered", stored: gone.map((entry) => entry.id), results: results ?? [] });
}

// What the server remarked about something that it stored all the same, until somebody has read it.
async function remember(gone, words) {
  const fresh = gone.flatMap((entry) => (words.get(entry.id)?.remarks ?? []).map((text) => ({ about: entry.about, text })));
  if (!fresh.length) return;
  await within(["here"], "readwrite", (here) => {
    after(here.get("remarks"), (old = []) => here.put([...old, ...fresh], "remarks"));
  });
}

async function setPause(why) {
  await put("here", "pause", why);
  tell({ pause: why });
}

// When to try again by itself. While a PIN is asked for there is nothing to try until somebody is there.
async function arm(said) {
  clearTimeout(timer);
  if (said === "paused") return;
  const entries = await waiting().catch(() => [{ state: "saved", next_at: Date.now() + MOST_MS }]);
  const times = entries.filter((e) => e.state === "saved" || e.state === "sent").map((e) => e.next_at);
  if (!times.length) return;
  const wait = Math.max(said === "busy" ? 500 : 250, Math.min(...times) - Date.now());
  clearTimeout(timer);
  timer = setTimeout(() => flush(), Math.min(MOST_MS, wait));
}

// On every page, once.
export function start() {
  addEventListener("online", () => flush(WAITING));
  document.addEventListener("visibilitychange", () => document.hidden || flush(WAITING));
  return flush(EVERYTHING);
}
