// Where a batch stands by what is on this tablet: the twin of webapp/store/results.py. A sample here is a record as it
// waits in the outbox; its numbers are read again from what was typed.
import { batchVerdict, difference, fillValue, fillsToSettle, judge, parseReading, sampleResult } from "../measure/index.mjs";
import { meter, product, scale, sigmas, version } from "./known.mjs";
import { meterState, worst } from "./meter-state.mjs";

export const KINDS = ["whole", "ground", "difference"];

// The readings of a sample that count, by fill: [[first, second], ...].
export function fillsOf(form, on) {
  const fills = new Map();
  for (const [name, text] of Object.entries(form)) {
    const found = /^fills-(\d+)-readings-(\d+)-value$/.exec(name);
    if (!found || !text.trim() || form[name.replace(/value$/, "void")]) continue;
    const [fill, no] = [Number(found[1]), Number(found[2])];
    if (!fills.has(fill)) fills.set(fill, []);
    fills.get(fill).push([no, parseReading(text, on.lower, on.upper, on.step, form[name.replace(/value$/, "sure")]) / 100]);
  }
  const inOrder = (rows) => rows.sort(([a], [b]) => a - b);
  return inOrder([...fills]).map(([, rows]) => inOrder(rows).map(([, value]) => value));
}

// A sample with everything it is worked out with, or null where the kit does not know it.
export function opened(kit, record) {
  const by = meter(kit, record.form.meter);
  const method = version(kit, record.form.method_version);
  const on = by && scale(kit, by.scale_id);
  const spread = method && on && sigmas(kit, method.version_id, on.id);
  if (!spread) return null;
  try {
    const fills = fillsOf(record.form, on);
    const ground = groundAt(kit, record, method);
    return fills.length ? { record, kind: record.sample_kind, method, meter: by, scale: on, sigmas: spread, fills, ...ground } : null;
  } catch {
    return null;
  }
}

// setting: where it was ground; off: at another setting than its method's, the two as words; burrs: the day of a change
// of burrs that nobody has compared.
function groundAt(kit, { form, made_at: madeAt }, { setting: own }) {
  if (!own) return { setting: null, off: null, burrs: null };
  const id = form.setting || own.id;
  const at = kit.settings?.find((one) => one.id === id) ?? (id === own.id ? own : { grinder: "–", name: "–" });
  const name = (one) => (at.grinder === own.grinder ? one.name : `${one.grinder}, ${one.name}`);
  const changed = at.burrs && at.burrs.at <= madeAt ? at.burrs.day : null;
  return { setting: id, off: id === own.id ? null : { at: name(at), asked: name(own) }, burrs: changed };
}

// {parts: {whole, ground, difference}, verdict, chance, missing, meterState}; null while nothing is measured. kit.own:
// the checks made on this tablet.
export function workOut(kit, productId, records) {
  const samples = records.map((record) => opened(kit, record)).filter(Boolean);
  if (!samples.length) return null;
  const target = product(kit, productId)?.target ?? null;
  const done = {};
  for (const kind of ["whole", "ground"]) {
    const taken = samples.filter((sample) => sample.kind === kind);
    if (taken.length) done[kind] = samplePart(kind, taken, target, stateOf(kit, samples));
  }
  const parts = {};
  for (const kind of ["whole", "ground"]) if (done[kind]) parts[kind] = done[kind].part;
  if (done.whole && done.ground) {
    const part = differencePart(done.whole, done.ground, target);
    if (part) parts.difference = part;
  }
  const judged = KINDS.map((kind) => {
    const hasTarget = Boolean(target?.bands[kind]);
    return { kind, hasTarget, judgement: hasTarget && parts[kind]?.verdict ? parts[kind] : null };
  });
  return { parts, ...batchVerdict(judged), meterState: worst(Object.values(parts).map((part) => part.meterState)) };
}

// How a sample's meter stood when it was read.
function stateOf(kit, samples) {
  return ({ record, meter: by }) => {
    const others = samples.filter((one) => one.meter.id === by.id && one.record !== record);
    const read = others.map((one) => Date.parse(one.record.made_at));
    return meterState(by, Date.parse(record.made_at), kit.own, read).state;
  };
}

function bandOf(target, kind, scaleId, methodId) {
  if (!target || target.scale_id !== scaleId || !target.bands[kind]) return null;
  const wanted = target.methods[kind];
  return wanted && methodId && wanted !== methodId ? null : target.bands[kind];
}

function samplePart(kind, taken, target, state) {
  const proper = taken.filter((sample) => !sample.off);
  const newest = (proper.length ? proper : taken).at(-1);
  const key = (sample) => `${sample.method.version_id} ${sample.scale.id} ${sample.setting}`;
  const chosen = taken.filter((sample) => key(sample) === key(newest));
  const { step, lighter } = newest.scale;
  const planned = newest.method.planned_readings;
  const fills = chosen.flatMap((sample) => sample.fills).map((values) => fillValue(values, planned, newest.sigmas.sigmaR, step, true));
  const uMeter = Math.max(...chosen.map((sample) => sample.meter.uMeter));
  const result = sampleResult(fills, newest.sigmas, step, uMeter);
  const band = newest.off ? null : bandOf(target, kind, newest.scale.id, newest.method.id);
  const part = {
    ...common(kind, result, newest.scale, target, band),
    meterState: worst(chosen.map(state)),
    samples: chosen.length,
    apart: taken.length - chosen.length,
    readingsDisagree: fills.some((fill) => fill.state === "disagree"),
    sigmaR: newest.sigmas.sigmaR,
    sigmaF: newest.sigmas.sigmaF,
    sigmaSource: newest.sigmas.source,
    studied: newest.sigmas.studied,
    off: newest.off,
    burrs: chosen.findLast((sample) => sample.burrs)?.burrs ?? null,
  };
  if (part.verdict === "undecided") {
    const perFill = Math.max(1, Math.round(result.readings / result.fills));
    part.settleFills = fillsToSettle(result.value, result.fills, perFill, newest.sigmas, step, uMeter, band, target.rule, lighter);
  }
  return { part, result, newest };
}

function differencePart(whole, ground, target) {
  if (whole.newest.scale.id !== ground.newest.scale.id) return null;
  const on = ground.newest.scale;
  const sameMeter = whole.newest.meter.id === ground.newest.meter.id;
  const result = difference(ground.result, whole.result, on.step, on.step, sameMeter);
  const assumed = [whole.part, ground.part].some((part) => part.sigmaSource === "assumed");
  return {
    ...common("difference", result, on, target, ground.part.off ? null : bandOf(target, "difference", on.id, null)),
    meterState: worst([whole.part.meterState, ground.part.meterState]),
    samples: whole.part.samples + ground.part.samples,
    apart: 0,
    readingsDisagree: false,
    sigmaR: null,
    sigmaF: null,
    sigmaSource: assumed ? "assumed" : ground.part.sigmaSource,
    off: ground.part.off,
  };
}

function common(kind, result, on, target, band) {
  const judged = band ? judge(result.value, result.u, band, target.rule, on.lighter) : { verdict: null, side: null };
  return { kind, ...result, ...judged, scale: on, rule: target?.rule ?? null, band, settleFills: null };
}
