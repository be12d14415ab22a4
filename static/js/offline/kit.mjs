// The kit: what the server last told this tablet, to go on without it. Products and targets, methods, meters, names;
// no reading of anybody. Kept with the time of this tablet's clock, by which its age is told.
import { ask } from "./ask.mjs";
import { get, put } from "./store.mjs";

const FORMAT = 1;
const FRESH_MS = 3 * 60_000;
// What has gone from the kit is kept a while for samples that were read with it.
const PAST = { methods: "version_id", meters: "id", scales: "id" };
const MOST_PAST = 30;

export const lastKit = () => get("kit", "kit");

// Fetches a new one unless the last is fresh, and knows this batch. Throws where there is no server, or nobody it knows.
export async function renew(batchId = null) {
  const last = await lastKit();
  const knows = !batchId || last?.batches.some((batch) => batch.id === batchId);
  if (last && knows && Date.now() - Date.parse(last.fetched_at) < FRESH_MS) return last;
  const { status, body } = await ask("/kit");
  if (status !== 200 || body.format !== FORMAT) return last;
  const kit = { ...body, fetched_at: new Date().toISOString(), past: past(last, body) };
  await put("kit", "kit", kit);
  return kit;
}

function past(last, now) {
  if (!last) return { methods: [], meters: [], scales: [], sigmas: [] };
  const kept = {};
  for (const [name, key] of Object.entries(PAST)) {
    const there = new Set(now[name].map((one) => one[key]));
    kept[name] = [...last[name], ...last.past[name]].filter((one) => !there.has(one[key])).slice(0, MOST_PAST);
  }
  const versions = new Set(kept.methods.map((version) => version.version_id));
  kept.sigmas = [...last.sigmas, ...last.past.sigmas].filter((one) => versions.has(one.version_id));
  return kept;
}
