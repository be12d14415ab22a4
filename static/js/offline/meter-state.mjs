// How a meter stands at a moment, by the kit and by what this tablet has checked itself: the twin of standing in
// webapp/store/meter_state.py, and of its words in webapp/ui/meter_words.py. A check that failed since is the server's
// to find.
import { clock, day } from "./parts.mjs";

const HOUR_MS = 3_600_000;

// {state, last, dueAt, left}. own: {meter id: the last check made on this tablet}; read: when this tablet's own samples
// were read on it (ms).
export function meterState({ id, control }, at, own = {}, read = []) {
  const { rule = null, last: known = null, since = 0, starts = [], due_at: dueKnown = null } = control ?? {};
  const mine = own[id] && (!known || own[id].made_at > known.made_at) ? own[id] : null;
  const last = mine ?? known;
  const asked = rule && rule.due !== "never";
  if (!last) return { state: asked ? "missing" : null, last, dueAt: null, left: null };
  if (!last.proven) return { state: "failed", last, dueAt: null, left: null };
  if (!asked) return { state: "proven", last, dueAt: null, left: null };
  const made = Date.parse(last.made_at);
  if (rule.due === "samples") {
    const here = read.filter((moment) => moment >= made && moment < at).length;
    const left = Math.max(0, rule.every - here - (mine ? 0 : since));
    return { state: left ? "proven" : "overdue", last, dueAt: null, left };
  }
  const next = starts.find((start) => Date.parse(start) > made);
  const shift = mine ? next : dueKnown;
  const due = rule.due === "hours" ? made + rule.every * HOUR_MS : Date.parse(shift);
  return { state: at < due ? "proven" : "overdue", last, dueAt: due, left: null };
}

export const fine = (state) => !state || state === "proven" || state === "accepted";

// One or two short sentences, "" where nobody asks for checks.
export function meterText({ state, last, dueAt, left }, words, zone) {
  const when = (moment) => {
    const at = new Date(moment);
    if (day(at, zone) === day(new Date(), zone)) return clock(at, zone);
    const date = new Intl.DateTimeFormat(words.lang, { day: "numeric", month: "short", year: "numeric", timeZone: zone });
    return `${date.format(at)}, ${clock(at, zone)}`;
  };
  if (!state) return "";
  if (state === "missing") return words.say("not_checked");
  const by = { time: when(last.made_at), name: last.name };
  if (state === "failed") return words.say("check_failed", by);
  const done = words.say("checked", by);
  if (state === "overdue") return `${words.say("check_due")} ${done}`;
  if (dueAt) return `${done} ${words.say("next_check", { time: when(dueAt) })}`;
  return left === null ? done : `${done} ${words.count("next_samples", left)}`;
}

const WORST_FIRST = ["failed", "missing", "overdue", "proven"];
export const worst = (states) => WORST_FIRST.find((state) => states.includes(state)) ?? null;
