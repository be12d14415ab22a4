// The verdict on a batch. A part is {kind, hasTarget, judgement}; judgement null: not measured.
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
