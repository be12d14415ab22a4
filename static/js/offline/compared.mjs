// Where a comparison stands by the kit and by what this tablet has read itself: the twin of webapp/studies/service.py,
// progress. No number is looked at.
import { ownReads } from "./own-reads.mjs";

const ROW = /^fills-(\d+)-readings-(\d+)-value$/;

// What this tablet has read and the kit does not know yet: [{id, comparison, no, side, fills, at, name}].
export const ownCoffees = (kit) => ownReads(kit, {
  name: "compared",
  kind: "comparison_sample",
  fromEntry,
  planOf: (one) => one.comparison,
  plans: kit.comparisons,
  known: (there, one) => there.coffees.some((coffee) => coffee.read.some(({ id }) => id === one.id)),
});

function fromEntry({ id, form, made_at: at, who: name }) {
  const counted = Object.keys(form).map((field) => ROW.exec(field)).filter(
    (row) => row && form[row[0]].trim() && !form[row[0].replace(/value$/, "void")],
  );
  const fills = new Set(counted.map((row) => row[1])).size;
  return { id, comparison: form.comparison, no: Number(form.coffee), side: form.side, fills, at, name };
}

// Every sample of one coffee on one side, the server's first.
export function reads(there, own, { no, read }, side) {
  const mine = own.filter((one) => one.comparison === there.id && one.no === no && one.side === side);
  return [...read.filter((one) => one.side === side), ...mine];
}

// Of two people each reads their own side alone (webapp/store/comparisons.py, Side.open_to).
export const openTo = ({ sides }, side, { person_id: id }) => !sides[side].person || sides[side].person.id === id;

// The next coffee and side of the plan that somebody may read and that is not read, {coffee, side}, or null. here: who is
// at the tablet; but: {no, side} that counts as read.
export function nextOpen(there, own, here, but = null) {
  for (const coffee of there.coffees) {
    for (const side of coffee.first === "a" ? ["a", "b"] : ["b", "a"]) {
      if (!openTo(there, side, here) || (coffee.no === but?.no && side === but.side)) continue;
      const fills = reads(there, own, coffee, side).reduce((sum, one) => sum + one.fills, 0);
      if (fills < there.fills) return { coffee, side };
    }
  }
  return null;
}

export const address = (there, found) => (found ? `/comparisons/${there.id}/${found.coffee.no}/${found.side}` : "/");

export const cup = (words, coffee) => coffee.name ?? words.say("cup", { code: coffee.code });

// What tells one side from the other (webapp/templates/studies/parts.html, side_name).
export function sideName(words, { what, sides }, side) {
  const { meter, grinder, setting, method, person } = sides[side];
  if (what === "meters") return meter;
  if (what === "people") return person.name;
  return what === "methods" ? words.say("method_no", method) : words.say("grinder_at", { grinder, setting });
}
