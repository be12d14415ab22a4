// Times at the site, whatever the tablet's own zone is.
const SHOWN = { hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit" };
const formats = new Map();

function parts(moment, zone) {
  // Making one takes longer than all that is done with it.
  if (!formats.has(zone)) formats.set(zone, new Intl.DateTimeFormat("en-GB", { ...SHOWN, timeZone: zone }));
  const found = formats.get(zone).formatToParts(moment);
  return Object.fromEntries(found.map(({ type, value }) => [type, value]));
}

// 2026-05-14
export function day(moment, zone) {
  const { year, month, day: date } = parts(moment, zone);
  return `${year.padStart(4, "0")}-${month}-${date}`;
}

// 07:42
export function clock(moment, zone) {
  const { hour, minute } = parts(moment, zone);
  return `${hour}:${minute}`;
}

// The moment of a day and a clock time at the site; null if they are none. A time that a clock change skips is taken
// as if it had not yet been changed, one that comes twice as the first.
export function moment(dayText, clockText, zone) {
  const guess = Date.parse(`${dayText}T${clockText.slice(0, 5)}:00Z`);
  if (Number.isNaN(guess)) return null;
  const shown = (at) => Date.parse(`${day(new Date(at), zone)}T${clock(new Date(at), zone)}:00Z`);
  const offsets = [guess - 86_400_000, guess + 86_400_000].map((at) => shown(at) - at);
  const fits = offsets.map((offset) => guess - offset).find((at) => shown(at) === guess);
  return new Date(fits ?? guess - offsets[0]);
}
