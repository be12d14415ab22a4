// From the readings of one fill to a verdict, as a capture works it out.
import { atLeast, exceeds, finite, list, oneOf, positive, whole } from "./numbers.mjs";

// The readings of one fill (ISO 5725-6:1994, clause 5.2).

// f(n) for n = 2 to 100.
const FACTORS = [
  2.77181, 3.31449, 3.63316, 3.85766, 4.03009, 4.16955, 4.28631, 4.38651, 4.47412, 4.55186, 4.62166,
  4.68492, 4.74273, 4.79592, 4.84515, 4.89095, 4.93375, 4.97389, 5.01169, 5.04738, 5.08119, 5.1133,
  5.14385, 5.173, 5.20085, 5.22752, 5.25309, 5.27766, 5.30129, 5.32405, 5.346, 5.36719, 5.38768,
  5.4075, 5.4267, 5.44531, 5.46336, 5.4809, 5.49794, 5.51451, 5.53063, 5.54634, 5.56164, 5.57656,
  5.59112, 5.60533, 5.61921, 5.63277, 5.64603, 5.65899, 5.67168, 5.6841, 5.69627, 5.70819, 5.71987,
  5.73132, 5.74255, 5.75357, 5.76439, 5.77501, 5.78544, 5.79568, 5.80575, 5.81564, 5.82537, 5.83494,
  5.84435, 5.85362, 5.86273, 5.8717, 5.88054, 5.88924, 5.89781, 5.90625, 5.91458, 5.92278, 5.93086,
  5.93884, 5.9467, 5.95446, 5.96211, 5.96966, 5.97711, 5.98447, 5.99173, 5.99889, 6.00597, 6.01297,
  6.01987, 6.02669, 6.03343, 6.0401, 6.04668, 6.05319, 6.05962, 6.06598, 6.07227, 6.07849, 6.08464,
];

export const MOST_READINGS = 100;

// With the bits that each addition loses kept and added at the end (Neumaier).
export const sum = (values) => {
  let total = 0;
  let lost = 0;
  for (const value of values) {
    const next = total + value;
    lost += Math.abs(total) >= Math.abs(value) ? total - next + value : value - next + total;
    total = next;
  }
  return total + lost;
};

export const mean = (values) => {
  const numbers = list("values", values);
  return Math.min(Math.max(sum(numbers) / numbers.length, Math.min(...numbers)), Math.max(...numbers));
};

export const median = (values) => {
  const sorted = list("values", values).sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 ? sorted[middle] : mean(sorted.slice(middle - 1, middle + 1));
};

export const criticalRangeFactor = (n) => FACTORS[whole("n", n, 2, MOST_READINGS) - 2];

export const criticalRange = (n, sigmaR, step) =>
  Math.max(criticalRangeFactor(n) * atLeast("sigmaR", sigmaR, 0), positive("step", step));

export const moreReadings = (n) => Math.ceil(whole("n", n, 2) / 3);

export function fillValue(readings, planned, sigmaR, step, final = false) {
  const numbers = list("readings", readings);
  const n = numbers.length;
  const plan = Math.max(2, whole("planned", planned, 1));
  const range = Math.max(...numbers) - Math.min(...numbers);
  const limit = n > 1 ? criticalRange(n, sigmaR, step) : null;
  const made = (how, state, more) => ({
    value: how === "mean" ? mean(numbers) : median(numbers), how, n, range, limit, state, more,
  });
  if (n === 1) {
    atLeast("sigmaR", sigmaR, 0);
    positive("step", step);
    return made("mean", "agree", 0);
  }
  if (!exceeds(range, limit, step)) return made("mean", "agree", 0);
  const aim = n < plan ? plan : plan + moreReadings(plan);
  return n < aim && !final ? made("mean", "more", aim - n) : made("median", "disagree", 0);
}

// Is a number so unlike the others that the person should be asked? Our own rules; a question, never a drop.

export function farFromFellows(readings, index, sigmaR, step) {
  const numbers = list("readings", readings);
  const n = numbers.length;
  whole("index", index, 0, n - 1);
  if (n === 1) return false;
  const limit = 3 * criticalRange(Math.min(n, MOST_READINGS), sigmaR, step);
  const among = n > 2 ? median(numbers) : numbers[1 - index];
  return exceeds(Math.abs(numbers[index] - among), limit, step);
}

export function farFromHistory(value, historyMean, historySd, n, sigmas, step) {
  finite("value", value);
  positive("step", step);
  if (whole("n", n, 0) < 5) return false;
  finite("historyMean", historyMean);
  const spread = Math.hypot(atLeast("historySd", historySd, 0), sigmas.sigmaF, sigmas.sigmaR);
  return exceeds(Math.abs(value - historyMean), 4 * Math.max(spread, step), step);
}

// A sample's result, and the difference of two (JCGM 100:2008).

export function uncertaintyTerms(fills, readings, sigmas, step, uMeter) {
  whole("fills", fills, 1);
  whole("readings", readings, fills);
  return {
    fillTerm: atLeast("sigmaF", sigmas.sigmaF, 0) ** 2 / fills,
    readingTerm: atLeast("sigmaR", sigmas.sigmaR, 0) ** 2 / readings,
    stepTerm: positive("step", step) ** 2 / 12,
    meterTerm: atLeast("uMeter", uMeter, 0) ** 2,
  };
}

export const uOf = (terms) => Math.sqrt(sum(Object.values(terms)));

export function fillsRangeLimit(fills, readings, sigmas, step) {
  whole("fills", fills, 2, MOST_READINGS);
  whole("readings", readings, fills);
  const sd = Math.sqrt(sigmas.sigmaF ** 2 + (sigmas.sigmaR ** 2 * fills) / readings);
  return Math.max(criticalRangeFactor(fills) * sd, positive("step", step));
}

const made = (value, terms, fills, readings, fillsLimit, fillsDisagree) => {
  const u = uOf(terms);
  return { value, u, U: 2 * u, fills, readings, ...terms, fillsLimit, fillsDisagree };
};

export function sampleResult(fills, sigmas, step, uMeter) {
  const values = fills.map((fill) => fill.value);
  const value = mean(values);
  const readings = fills.reduce((count, fill) => count + fill.n, 0);
  const terms = uncertaintyTerms(values.length, readings, sigmas, step, uMeter);
  const limit = values.length > 1 ? fillsRangeLimit(values.length, readings, sigmas, step) : null;
  const apart = limit !== null && exceeds(Math.max(...values) - Math.min(...values), limit, step);
  return made(value, terms, values.length, readings, limit, apart);
}

export function difference(ground, wholeBean, stepGround, stepWhole, sameMeter) {
  const terms = {
    fillTerm: ground.fillTerm + wholeBean.fillTerm,
    readingTerm: ground.readingTerm + wholeBean.readingTerm,
    stepTerm: positive("step", stepGround) ** 2 / 12 + positive("step", stepWhole) ** 2 / 12,
    meterTerm: sameMeter ? 0 : ground.meterTerm + wholeBean.meterTerm,
  };
  return made(
    ground.value - wholeBean.value, terms, ground.fills + wholeBean.fills, ground.readings + wholeBean.readings,
    null, ground.fillsDisagree || wholeBean.fillsDisagree,
  );
}

// The normal distribution, to about 1e-14 of its value: a series near the middle, a continued fraction in the tails.
const erf = (x) => {
  let term = x;
  let total = x;
  for (let n = 1; term > total * 1e-17; n++) {
    term *= (2 * x * x) / (2 * n + 1);
    total += term;
  }
  return (2 / Math.sqrt(Math.PI)) * Math.exp(-x * x) * total;
};

const erfc = (x) => {
  if (x < 0) return 2 - erfc(-x);
  if (x < 1.5) return 1 - erf(x);
  let below = x;
  for (let k = 120; k > 0; k--) below = x + k / 2 / below;
  return Math.exp(-x * x) / Math.sqrt(Math.PI) / below;
};

export const normalCdf = (z) => erfc(-z / Math.SQRT2) / 2;

// Position, conformance probability and verdict (JCGM 106:2012). A band is {lower, centre, upper}, null for none;
// a rule {kind, confidence}; lighter is +1 where a higher number is lighter, else -1.

const SAME = 1e-12;

const bad = (what) => {
  throw new RangeError(what);
};

export function makeBand(lower = null, centre = null, upper = null) {
  for (const value of [lower, centre, upper]) if (value !== null) finite("band", value);
  if (lower === null && upper === null) bad("a band needs a limit");
  if (lower !== null && upper !== null) {
    if (lower >= upper) bad("band order");
    centre ??= (lower + upper) / 2;
  }
  if (centre !== null && !((lower ?? -Infinity) < centre && centre < (upper ?? Infinity))) bad("centre");
  return { lower, centre, upper };
}

const asBand = (band) => makeBand(band.lower, band.centre, band.upper);

export function position(value, band, lighter) {
  finite("value", value);
  oneOf("lighter", lighter, [1, -1]);
  const { lower, centre, upper } = asBand(band);
  if (centre === null) return null;
  const deviation = value - centre;
  if (deviation === 0) return 0;
  const limit = deviation > 0 ? upper ?? lower : lower ?? upper;
  return (lighter * deviation) / Math.abs(limit - centre);
}

function beyondLimit(value, { lower, upper }) {
  const below = lower === null ? -Infinity : lower - value;
  const above = upper === null ? -Infinity : value - upper;
  const [distance, limit] = below > above ? [below, lower] : [above, upper];
  return Math.abs(distance) <= SAME * Math.max(Math.abs(value), Math.abs(limit)) ? 0 : distance;
}

export function conformanceProbability(value, u, band) {
  finite("value", value);
  atLeast("u", u, 0);
  const { lower, upper } = asBand(band);
  if (u === 0) return beyondLimit(value, { lower, upper }) <= 0 ? 1 : 0;
  let from = lower === null ? -Infinity : (lower - value) / u;
  let to = upper === null ? Infinity : (upper - value) / u;
  if (from > 0) [from, to] = [-to, -from];
  return Math.max(0, normalCdf(to) - normalCdf(from));
}

function nearerSide(value, { lower, upper }, lighter) {
  const [low, high] = lighter > 0 ? ["darker", "lighter"] : ["lighter", "darker"];
  if (lower === null) return high;
  if (upper === null) return low;
  const balance = value - lower - (upper - value);
  if (Math.abs(balance) <= SAME * Math.max(Math.abs(value), Math.abs(lower), Math.abs(upper))) return null;
  return balance > 0 ? high : low;
}

export function judge(value, u, band, rule, lighter) {
  const { kind, confidence } = rule;
  oneOf("rule", kind, ["guarded", "simple"]);
  if (!(confidence > 0.5 && confidence < 1)) bad("confidence");
  const limits = asBand(band);
  const where = position(value, limits, lighter);
  const chance = conformanceProbability(value, u, limits);
  const beyond = beyondLimit(value, limits);
  let verdict = "undecided";
  if (kind === "simple") verdict = beyond > 0 ? "outside" : "inside";
  else if (chance >= confidence - SAME) verdict = "inside";
  else if (beyond > 0 && 1 - chance >= confidence - SAME) verdict = "outside";
  const side = verdict === "inside" ? null : nearerSide(value, limits, lighter);
  return { verdict, side, chance, position: where, beyond };
}

export function fillsToSettle(
  value, fills, readingsPerFill, sigmas, step, uMeter, band, rule, lighter, most = 4,
) {
  whole("fills", fills, 1);
  whole("readingsPerFill", readingsPerFill, 1);
  for (let total = fills + 1; total <= most; total++) {
    const u = uOf(uncertaintyTerms(total, total * readingsPerFill, sigmas, step, uMeter));
    if (judge(value, u, band, rule, lighter).verdict !== "undecided") return total;
  }
  return null;
}
