// The measurement core in the browser: the names of webapp/measure in camelCase. The server's numbers count;
// tests/outside/vectors.json holds both to the same.
export { batchVerdict, roundHalfEven, showPercent, showSigned } from "./batch.mjs";
export {
  ReadingProblem, parseDecimal, parseReading, showGiveOrTake, showValue, stepDecimals,
} from "./numbers.mjs";
export {
  conformanceProbability, criticalRange, difference, farFromFellows, farFromHistory, fillValue, fillsRangeLimit, fillsToSettle,
  judge, makeBand, mean, median, moreReadings, normalCdf, position, sampleResult, uncertaintyTerms,
} from "./sample.mjs";
