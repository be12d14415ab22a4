// What this tablet knows of batches: those of the last kit, those that wait to be sent, and what whoever is here has
// captured on it. Readings of others are not among it.
import { inOrder, toRecord } from "./outbox.mjs";
import { within } from "./store.mjs";

// All that a page of the shell begins with, read in one step: the kit, who is at the tablet, the checks made here, what
// waits (in its order), what of batches was captured here, and the draft of this name.
export async function here(name) {
  const asked = await within(["kit", "here", "outbox", "shown", "drafts"], "readonly", (kit, facts, outbox, shown, drafts) => [
    kit.get("kit"), facts.get("person"), facts.get("checks"), outbox.getAll(), shown.getAll(), drafts.get(name),
  ]);
  const [kit, person, checks = {}, waits, shown, draft] = asked.map((request) => request.result);
  return { kit, person, checks, waits: inOrder(waits), shown, draft };
}

// Of `waits` and `shown`, as above. A batch as it is known here: {id, code, product_id, machine_id, roasted_at, green, roasted, read: kinds that have a
// sample, samples: own records, taken: everybody's, signed: samples countersigned here, decision, waits: something of it is still to be sent}.
export function knownBatches(kit, person, { waits, shown }) {
  const found = new Map();
  const at = (id) => {
    if (!found.has(id)) found.set(id, { id, code: "", read: new Set(), samples: [], taken: [], signed: [], decision: null, waits: false });
    return found.get(id);
  };
  for (const outline of kit?.batches ?? []) Object.assign(at(outline.id), outline, { read: new Set(outline.read) });
  const own = shown.filter((one) => one.person_id === person?.person_id);
  for (const { records } of own) for (const record of records) take(at, record, person, kit);
  for (const entry of waits) {
    const batch = take(at, entry, person, kit);
    if (batch) batch.waits = true;
  }
  return new Map([...found].filter(([, batch]) => batch.product_id));
}

// A claim or an entry of a grinder's log belongs to no batch.
const ofBatch = (record) => record.kind === "batch" || Boolean(record.batch_id);

function take(at, record, person, kit) {
  if (!ofBatch(record)) return null;
  const batch = at(record.kind === "batch" ? record.id : record.batch_id);
  const own = record.person_id === person?.person_id;
  if (record.kind === "batch") Object.assign(batch, factsOf(record, kit));
  if (record.kind === "sample") {
    batch.read.add(record.sample_kind);
    batch.taken.push(record);
    if (own) batch.samples = [...batch.samples.filter((sample) => sample.id !== record.id), record];
  }
  if (record.kind === "countersignature") batch.signed.push(...record.form.samples.split(" "));
  if (record.kind === "decision" && own) batch.decision = record;
  return batch;
}

function factsOf({ form, made_at: madeAt }) {
  const { code, product, machine, day, clock, green, roasted, lot } = form;
  return { code, product_id: product, machine_id: machine, day, clock, green, roasted, lot, made_at: madeAt };
}

// Keeps what has been put into the outbox for whoever is here, so that the result can still be shown once the server
// has it and cannot be reached any more.
export async function keepShown(entries, person) {
  const own = entries.filter((entry) => entry.person_id === person?.person_id && ofBatch(entry));
  if (!own.length) return;
  await within(["shown"], "readwrite", (shown) => {
    for (const entry of own) {
      const id = entry.kind === "batch" ? entry.id : entry.batch_id;
      const record = toRecord(entry);
      const there = shown.get(id);
      there.onsuccess = () => {
        const mine = there.result?.person_id === person.person_id ? there.result.records : [];
        const records = [...mine.filter((one) => one.id !== record.id), record];
        shown.put({ batch_id: id, person_id: person.person_id, records, at: new Date().toISOString() }, id);
      };
    }
  });
}

// The first code of the day that is not in use, as the server proposes it: 0514-03.
export function proposeCode(batches, day) {
  const stem = `${day.slice(5, 7)}${day.slice(8, 10)}-`;
  const used = new Set([...batches].map((batch) => batch.code));
  for (let number = 1; ; number++) {
    const code = stem + String(number).padStart(2, "0");
    if (!used.has(code)) return code;
  }
}

// What a page would choose by itself on the server, chosen from the kit: the method, the meter, the band.

// One thing of the kit by its id, also if it has gone from it since.
const find = (kit, name, fits) => kit[name].find(fits) ?? kit.past[name]?.find(fits) ?? null;

export const product = (kit, id) => kit.products.find((one) => one.id === id) ?? null;
export const machine = (kit, id) => kit.machines.find((one) => one.id === id) ?? null;
export const person = (kit, id) => kit.people.find((one) => one.id === id) ?? null;
export const scale = (kit, id) => find(kit, "scales", (one) => one.id === id);
export const meter = (kit, id) => find(kit, "meters", (one) => one.id === id);
export const version = (kit, id) => find(kit, "methods", (one) => one.version_id === id);
export const sigmas = (kit, versionId, scaleId) =>
  find(kit, "sigmas", (one) => one.version_id === versionId && one.scale_id === scaleId);

// What the capture page would choose by itself (webapp/bench/page.py, gather); null where nothing can be read.
export function choose(kit, batch, kind, meterId = null, versionId = null) {
  const target = product(kit, batch.product_id)?.target ?? null;
  const wanted = target?.methods[kind];
  const usable = (one) => one.kind === kind && (wanted ? one.id === wanted : one.active);
  const began = versionId && version(kit, versionId);
  const method = began?.kind === kind ? began : kit.methods.find(usable);
  const onScale = kit.meters.filter((one) => !target || one.scale_id === target.scale_id);
  const meters = onScale.length ? onScale : kit.meters;
  if (!method || !meters.length) return null;
  const chosen = meters.find((one) => one.id === meterId) ?? meters[0];
  return { batch, kind, method, target, meters, meter: chosen, ...groundAt(kit, method), ...readBy(kit, batch, kind, method, chosen, target) };
}

// The setting to which a grinder was moved by what waits here, which the server does not know yet; or nothing.
export function movedTo({ waits = [] }, grinder) {
  const moved = waits.filter(({ kind, form }) => kind === "grinder_event" && form.what === "setting" && form.grinder === grinder);
  return moved.sort((a, b) => (a.made_at < b.made_at ? -1 : 1)).at(-1)?.form.setting;
}

// The method's own setting first (webapp/bench/page.py, settings_for and likely_setting).
function groundAt(kit, { setting: own }) {
  const grinder = own && kit.settings.find((one) => one.id === own.id)?.grinder_id;
  const all = own?.id ? [own, ...kit.settings.filter((one) => one.id !== own.id)] : [];
  return { settings: all.map((one) => ({ id: one.id, name: `${one.name}, ${one.grinder}` })), setting: movedTo(kit, grinder) ?? own?.now };
}

function readBy(kit, batch, kind, method, chosen, target) {
  const onScale = target?.scale_id === chosen.scale_id;
  const shown = kit.history.find(
    (one) =>
      one.product_id === batch.product_id && one.version_id === method.version_id && one.scale_id === chosen.scale_id,
  );
  return {
    scale: scale(kit, chosen.scale_id),
    sigmas: sigmas(kit, method.version_id, chosen.scale_id),
    band: (onScale && target.bands[kind]) || null,
    history: { mean: shown?.mean ?? 0, sd: shown?.sd ?? 0, n: shown?.n ?? 0 },
    wholeDigits: shown?.wholeDigits ?? null,
  };
}

// The same as the capture page's script takes it (CapturePage.kit).
export function forCapture({ kind, method, scale: on, sigmas: spread, meter: by, band, target, history, wholeDigits }) {
  const { lower, upper, step, lighter } = on;
  const { sigmaR, sigmaF, source } = spread;
  return {
    kind, planned: method.planned_readings, scale: { lower, upper, step, lighter }, sigmas: { sigmaR, sigmaF, source },
    uMeter: by.uMeter, band, rule: target?.rule ?? null, history, wholeDigits,
  };
}

// Whether what somebody reads of a kind at a moment (ISO text, UTC) stands alone. one: a person of the kit.
export function alone(one, kind, at) {
  const { since, until } = one?.signed?.[kind] ?? {};
  return one?.role !== "trainee" || Boolean(since && since <= at && (!until || at <= until));
}

// The kinds in which a product is to be read (webapp/bench/record.py, wants).
export function wanted(product) {
  const bands = product?.target?.bands ?? {};
  const all = !Object.keys(bands).length || bands.difference;
  const kinds = ["whole", "ground"].filter((kind) => all || bands[kind]);
  return kinds.length ? kinds : ["whole"];
}
