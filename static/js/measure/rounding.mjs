// How a number is printed (ISO 80000-1:2009, B.3, rule A: half to even); give or take always up.
import { TINY, atLeast, finite, oneOf, positive } from "./checks.mjs";

const MINUS = "\u2212";

export function stepDecimals(step) {
  positive("step", step);
  let places = 0;
  while (places < 12 && Math.abs(step * 10 ** places - Math.round(step * 10 ** places)) > TINY) places++;
  return places;
}

const split = (value, step) => {
  const steps = finite("value", value) / positive("step", step);
  const below = Math.floor(steps);
  return [below, steps - below];
};

// Whole steps to whole units of the last decimal: exact.
const units = (steps, step) => steps * Math.round(step * 10 ** stepDecimals(step));

const evenSteps = (value, step) => {
  const [below, rest] = split(value, step);
  const tie = Math.abs(rest - 0.5) <= TINY;
  return below + (tie ? Math.abs(below % 2) : Number(rest > 0.5));
};

const print = (count, places, mark) => {
  oneOf("mark", mark, [".", ","]);
  const digits = String(Math.abs(count)).padStart(places + 1, "0");
  const cut = digits.length - places;
  const text = places ? digits.slice(0, cut) + mark + digits.slice(cut) : digits;
  return count < 0 ? MINUS + text : text;
};

export const roundHalfEven = (value, step) => units(evenSteps(value, step), step) / 10 ** stepDecimals(step);

export const showValue = (value, step, mark = ".") =>
  print(units(evenSteps(value, step), step), stepDecimals(step), mark);

export const showSigned = (value, step, mark = ".") =>
  (evenSteps(value, step) > 0 ? "+" : "") + showValue(value, step, mark);

export function showGiveOrTake(U, step, mark = ".") {
  const [below, rest] = split(atLeast("U", U, 0), step);
  return print(units(Math.max(1, below + (rest > 1e-8)), step), stepDecimals(step), mark);
}

export function showPercent(chance, mark = ".") {
  if (atLeast("chance", chance, 0) > 1) throw new RangeError("chance");
  const percent = evenSteps(100 * chance, 1);
  if (percent === 100) return `> ${chance >= 0.9995 ? print(999, 1, mark) : "99"} %`;
  if (percent === 0) return `< ${chance < 0.0005 ? print(1, 1, mark) : "1"} %`;
  return `${percent} %`;
}
