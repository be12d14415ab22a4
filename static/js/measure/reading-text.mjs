// Typed text to an exact whole number of hundredths; refused with a reason, never guessed.
import { whole } from "./checks.mjs";

const MOST_DIGITS = 15;
const BLANKS = /^[ \t\r\n\u00a0\u2007\u2009\u202f]+|[ \t\r\n\u00a0\u2007\u2009\u202f]+$/g;

export class ReadingProblem extends Error {
  constructor(code, suggestionHundredths = null) {
    super(code);
    Object.assign(this, { code, suggestionHundredths });
  }
}

function parts(text) {
  const plain = text.replace(BLANKS, "").replaceAll("\u2212", "-");
  if (!plain) throw new ReadingProblem("empty");
  if (/\p{N}/u.test(plain.replace(/[0-9]/g, ""))) throw new ReadingProblem("digits");
  const shape = /^([+-]?)([0-9]*)(?:[.,]([0-9]*))?$/.exec(plain);
  if (!shape || !(shape[2] || shape[3])) {
    const grouped = /^[+-]?[0-9.,]*[0-9][0-9.,]*$/.test(plain) && plain.match(/[.,]/g).length > 1;
    throw new ReadingProblem(grouped ? "two_marks" : "not_a_number");
  }
  return {
    sign: shape[1] === "-" ? -1 : 1,
    before: shape[2].replace(/^0+/, ""),
    after: (shape[3] ?? "").replace(/0+$/, ""),
    bare: /^[0-9]+$/.test(plain),
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

export function parseReading(text, lower, upper, step) {
  const [low, high, by] = [lower, upper, step].map(hundredths);
  if (by <= 0 || low >= high) throw new RangeError("scale");
  const { sign, before, after, bare } = parts(text);
  if (before.length > MOST_DIGITS) throw new ReadingProblem("off_scale");
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
