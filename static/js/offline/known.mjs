// What this tablet knows of batches: those of the last kit, those that wait to be sent, and what whoever is here has
// captured on it. Readings of others are not among it.
import { all, within } from "./store.mjs";
import { toRecord } from "./outbox.mjs";

// `entries`: what waits. A batch as it is known here: {id, code, product_id, machine_id, roasted_at, green, roasted, read: kinds that have a
// sample, samples: own records, taken: everybody's, signed: samples countersigned here, decision, waits: something of it is still to be sent}.
export async function knownBatches(kit, person, entries) {
  const found = new Map();
  const at = (id) => {
    if (!found.has(id)) found.set(id, { id, code: "", read: new Set(), samples: [], taken: [], signed: [], decision: null, waits: false });
    return found.get(id);
  };
  for (const outline of kit?.batches ?? []) Object.assign(at(outline.id), outline, { read: new Set(outline.read) });
  for (const { records } of await shownTo(person)) for (const record of records) take(at, record, person, kit);
  for (const entry of entries) {
    const batch = take(at, entry, person, kit);
    if (batch) batch.waits = true;
  }
  return new Map([...found].filter(([, batch]) => batch.product_id));
}

export const shownTo = async (person) => (await all("shown")).filter((one) => one.person_id === person?.person_id);

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
