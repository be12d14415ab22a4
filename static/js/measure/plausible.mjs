// Is a number so unlike the others that the person should be asked? Our own rules; a question, never a drop.
import { atLeast, exceeds, finite, list, positive, whole } from "./checks.mjs";
import { MOST_READINGS, criticalRange, median } from "./replicates.mjs";

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
