// Position, conformance probability and verdict (JCGM 106:2012). A band is {lower, centre, upper}, null for none;
// a rule {kind, confidence}; lighter is +1 where a higher number is lighter, else -1.
import { atLeast, finite, oneOf, whole } from "./checks.mjs";
import { normalCdf } from "./normal.mjs";
import { uOf, uncertaintyTerms } from "./result.mjs";

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
