// A sample's result, and the difference of two (JCGM 100:2008).
import { atLeast, exceeds, positive, whole } from "./checks.mjs";
import { MOST_READINGS, criticalRangeFactor, mean, sum } from "./replicates.mjs";

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
