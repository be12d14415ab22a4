// Numbers as they are asked for, printed and typed; the twin of webapp/measure, whose docstrings hold for both.
// What every function asks of its numbers.
export const TINY = 1e-9;

const refuse = (name, value) => {
  throw new RangeError(`${name}: ${value}`);
};

export const finite = (name, value) => (Number.isFinite(value) ? value : refuse(name, value));

export const atLeast = (name, value, least) => (finite(name, value) >= least ? value : refuse(name, value));

export const positive = (name, value) => (finite(name, value) > 0 ? value : refuse(name, value));

export const whole = (name, value, least, most = Infinity) =>
  Number.isInteger(value) && value >= least && value <= most ? value : refuse(name, value);

export const oneOf = (name, value, words) => (words.includes(value) ? value : refuse(name, value));

export const list = (name, values) =>
  values.length ? [...values].map((value) => finite(name, value)) : refuse(name, "none");

// Above the limit by more than the last bits of decimal numbers.
export const exceeds = (value, limit, step) => value - limit > TINY * step;

// How a number is printed (ISO 80000-1:2009, B.3, rule A: half to even); give or take always up.

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
export const units = (steps, step) => steps * Math.round(step * 10 ** stepDecimals(step));

export const evenSteps = (value, step) => {
  const [below, rest] = split(value, step);
  const tie = Math.abs(rest - 0.5) <= TINY;
  return below + (tie ? Math.abs(below % 2) : Number(rest > 0.5));
};

export const print = (count, places, mark) => {
  oneOf("mark", mark, [".", ","]);
  const digits = String(Math.abs(count)).padStart(places + 1, "0");
  const cut = digits.length - places;
  const text = places ? digits.slice(0, cut) + mark + digits.slice(cut) : digits;
  return count < 0 ? MINUS + text : text;
};

export const showValue = (value, step, mark = ".") =>
  print(units(evenSteps(value, step), step), stepDecimals(step), mark);

export function showGiveOrTake(U, step, mark = ".") {
  const [below, rest] = split(atLeast("U", U, 0), step);
  return print(units(Math.max(1, below + (rest > 1e-8)), step), stepDecimals(step), mark);
}

// Typed text to an exact whole number of hundredths; refused with a reason, never guessed.

const MOST_DIGITS = 15;
const NOT_A_LINE = /(^|[ ;=|])([+-]?\d+([.,]\d+)? +\d+([.,]\d+)?( |$)|- +\d)|[\0-\x1f]|.{201}/;

const tidy = (text) => text.replace(/[\t\r\n\u00a0\u2007\u2009\u202f]/g, " ").replace(/^ +| +$/g, "").replaceAll(MINUS, "-");

export class ReadingProblem extends Error {
  constructor(code, suggestionHundredths = null) {
    super(code);
    Object.assign(this, { code, suggestionHundredths });
  }
}

function parts(text) {
  const plain = tidy(text);
  if (!plain) throw new ReadingProblem("empty");
  if (/\p{N}/u.test(plain.replace(/[0-9]/g, ""))) throw new ReadingProblem("digits");
  const shape = /^([+-]?)(\d*)(?:[.,](\d*))?$/.exec(plain);
  if (!shape || !(shape[2] || shape[3])) {
    const grouped = /^[+-]?[\d.,]*\d[\d.,]*$/.test(plain);
    throw new ReadingProblem(grouped ? "two_marks" : "not_a_number");
  }
  return {
    sign: shape[1] === "-" ? -1 : 1,
    before: shape[2].replace(/^0+/, ""),
    after: (shape[3] ?? "").replace(/0+$/, ""),
    bare: /^\d+$/.test(plain),
  };
}

export function parseDecimal(text, places) {
  whole("places", places, 0);
  const { sign, before, after } = parts(text);
  if (before.length + places > MOST_DIGITS) throw new ReadingProblem("off_scale");
  if (after.length > places) throw new ReadingProblem("too_fine");
  return sign * Number(before + after.padEnd(places, "0")) || 0;
}

const hundredths = (number) => {
  const scaled = Math.round(number * 100);
  if (!(Math.abs(number * 100 - scaled) < 1e-6)) throw new RangeError(`scale: ${number}`);
  return scaled;
};

function onScale(text, low, high, by) {
  const { sign, before, after, bare } = parts(text);
  if (after.length > MOST_DIGITS) throw new ReadingProblem("too_fine");
  // In whole units of the finest typed decimal, so that 150.001 is off a scale that ends at 150.
  const finest = 10n ** BigInt(Math.max(0, after.length - 2));
  const typed = BigInt(sign) * BigInt(before + after.padEnd(2, "0"));
  if (typed < BigInt(low) * finest || typed > BigInt(high) * finest) {
    const meant = bare ? [typed / 10n, typed / 100n].map(Number) : [];
    throw new ReadingProblem("off_scale", meant.find((h) => h >= low && h <= high && h % by === 0) ?? null);
  }
  if (typed % (BigInt(by) * finest)) throw new ReadingProblem("too_fine");
  return Number(typed / finest);
}

export function parseReading(text, lower, upper, step, first) {
  const scale = [lower, upper, step].map(hundredths);
  if (scale[2] <= 0 || scale[0] >= scale[1]) throw new RangeError("scale");
  const found = new Set();
  let wrong;
  const take = (word, pass) => {
    try {
      found.add(onScale(word, ...scale));
    } catch (problem) {
      if (problem.code !== pass) throw problem;
      wrong = new ReadingProblem(pass);
    }
  };
  take(text, "not_a_number");
  // A line of text.
  const line = tidy(text);
  if (wrong && !NOT_A_LINE.test(line)) {
    for (const word of line.replace(/(\p{L})[,:]/gu, "$1 ").split(/[ ;=|]/)) {
      const number = /^(?!\d+\.\d+\.\d)([+-]?\d[\d.,]*?)[.,%]?$/.exec(word);
      if (number) take(number[1], "off_scale");
    }
  }
  const [reading] = found;
  if (!found.size) throw wrong;
  if (found.size > 1 && !first) throw new ReadingProblem("which", reading);
  return reading;
}
