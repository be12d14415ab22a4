// Where a precision study stands by the kit and by what this tablet has read itself: the twin of
// webapp/studies/precision_plan.py, progress. No number is looked at.
import { ownReads } from "./own-reads.mjs";

// [{id, study, no}]: the fills that this tablet has read, whoever was at it.
export const ownFills = (kit) => ownReads(kit, {
  name: "studied",
  kind: "precision_fill",
  fromEntry: ({ id, form }) => ({ id, study: form.study, no: Number(form.place) }),
  planOf: (one) => one.study,
  plans: kit.studies,
  known: (there, one) => there.places.some((place) => place.read.includes(one.id)),
});

export const isRead = (there, own, place) => place.read.length > 0 || own.some((one) => one.study === there.id && one.no === place.no);

// The first place of this person that is not read, or undefined. but: the number of one that counts as read.
export const nextOwn = (there, own, personId, but = null) =>
  there.places.find((place) => place.person_id === personId && place.no !== but && !isRead(there, own, place));

export const address = (there, place) => (place ? `/studies/precision/${there.id}/${place.no}` : "/");
