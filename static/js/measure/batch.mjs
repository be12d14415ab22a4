// What a sample being read does not need: the verdict on a batch, and numbers as a sentence has them.
import { atLeast, evenSteps, print, showValue, stepDecimals, units } from "./numbers.mjs";

// A part is {kind, hasTarget, judgement}; judgement null: not measured.
export function batchVerdict(parts, meterProven = true) {
  const kinds = parts.map((part) => part.kind);
  if (new Set(kinds).size < kinds.length) throw new RangeError("a kind twice");
  const wanted = parts.filter((part) => part.hasTarget);
  const missing = wanted.filter((part) => !part.judgement).map((part) => part.kind);
  const judged = wanted.flatMap((part) => part.judgement ?? []);
  const worst = ["outside", "undecided", "inside"].find((word) => judged.some((j) => j.verdict === word));
  const verdict = missing.length ? "incomplete" : worst ?? "unjudged";
  const chance = judged.length ? Math.min(...judged.map((j) => j.chance)) : null;
  return {
    verdict, chance, missing, needsConcession: !meterProven || !["inside", "unjudged"].includes(verdict),
  };
}

export const roundHalfEven = (value, step) => units(evenSteps(value, step), step) / 10 ** stepDecimals(step);

export const showSigned = (value, step, mark = ".") =>
  (evenSteps(value, step) > 0 ? "+" : "") + showValue(value, step, mark);

export function showPercent(chance, mark = ".") {
  if (atLeast("chance", chance, 0) > 1) throw new RangeError("chance");
  const percent = evenSteps(100 * chance, 1);
  if (percent === 100) return `> ${chance >= 0.9995 ? print(999, 1, mark) : "99"} %`;
  if (percent === 0) return `< ${chance < 0.0005 ? print(1, 1, mark) : "1"} %`;
  return `${percent} %`;
}
