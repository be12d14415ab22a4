// What this tablet has read for an open plan (a comparison, a precision study) and the kit does not know yet, kept until
// a kit knows it: what waits here, and what was sent since the kit came.
import { get, put } from "./store.mjs";

// name: where it is kept; kind: of the records; fromEntry: what is kept of one, with its id; planOf: the id of its plan;
// plans: the open ones of the kit; known(plan, one): whether the kit has it.
export async function ownReads(kit, { name, kind, fromEntry, planOf, plans = [], known }) {
  const before = (await get("here", name)) ?? [];
  const found = new Map(before.map((one) => [one.id, one]));
  for (const entry of kit.waits) if (entry.kind === kind && entry.state !== "aside") found.set(entry.id, fromEntry(entry));
  const open = new Map(plans.map((there) => [there.id, there]));
  const own = [...found.values()].filter((one) => open.has(planOf(one)) && !known(open.get(planOf(one)), one));
  if (JSON.stringify(own) !== JSON.stringify(before)) await put("here", name, own);
  return own;
}
