// Whose hands a sample came from: the twin of webapp/store/hands.py, by the kit and by what this tablet has itself.
import { alone, person } from "./known.mjs";

// The samples of a batch that wait for a countersignature, {id, kind, name}: those of the kit, and those of this tablet.
export function waitingHands(kit, batch) {
  const own = batch.taken.map(({ id, sample_kind: kind, person_id: who, made_at: at }) => ({ id, kind, at, one: person(kit, who) }));
  const unsigned = own.filter(({ kind, at, one }) => !alone(one, kind, at)).map(({ id, kind, one }) => ({ id, kind, name: one.name }));
  const found = new Map([...(batch.hands?.waiting ?? []), ...unsigned].map((one) => [one.id, one]));
  for (const id of [...(batch.hands?.signed ?? []), ...batch.signed]) found.delete(id);
  return [...found.values()];
}

// In words, as webapp/bench/hands.py.
export function handsRead(waiting, words) {
  const said = waiting.map(({ kind, name }) => words.say("read_before", { kind: words.say(kind).toLowerCase(), name }));
  return [...new Set(said)].join("; ");
}

export const handsText = (waiting, words) => words.say("hands_wait", { what: handsRead(waiting, words) });
