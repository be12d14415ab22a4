// The readings of one fill (ISO 5725-6:1994, clause 5.2).
import { atLeast, exceeds, list, positive, whole } from "./checks.mjs";

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
