// The measurement core in the browser: the names of webapp/measure in camelCase. The server's numbers count;
// tests/outside/vectors.json holds both to the same.
export { batchVerdict } from "./batch.mjs";
export { conformanceProbability, fillsToSettle, judge, makeBand, position } from "./conformity.mjs";
export { normalCdf } from "./normal.mjs";
export { farFromFellows, farFromHistory } from "./plausible.mjs";
export { ReadingProblem, parseDecimal, parseReading } from "./reading-text.mjs";
export { criticalRange, fillValue, mean, median, moreReadings } from "./replicates.mjs";
export { difference, fillsRangeLimit, sampleResult, uncertaintyTerms } from "./result.mjs";
export { roundHalfEven, showGiveOrTake, showPercent, showSigned, showValue, stepDecimals } from "./rounding.mjs";
