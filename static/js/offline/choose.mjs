// What a page would choose by itself on the server, chosen from the kit: the method, the meter, the band.

// One thing of the kit by its id, also if it has gone from it since.
const find = (kit, name, fits) => kit[name].find(fits) ?? kit.past[name]?.find(fits) ?? null;

export const product = (kit, id) => kit.products.find((one) => one.id === id) ?? null;
export const machine = (kit, id) => kit.machines.find((one) => one.id === id) ?? null;
export const person = (kit, id) => kit.people.find((one) => one.id === id) ?? null;
export const scale = (kit, id) => find(kit, "scales", (one) => one.id === id);
export const meter = (kit, id) => find(kit, "meters", (one) => one.id === id);
export const version = (kit, id) => find(kit, "methods", (one) => one.version_id === id);
export const sigmas = (kit, versionId, scaleId) =>
  find(kit, "sigmas", (one) => one.version_id === versionId && one.scale_id === scaleId);

// What the capture page would choose by itself (webapp/bench/page.py, gather); null where nothing can be read.
export function choose(kit, batch, kind, meterId = null, versionId = null) {
  const target = product(kit, batch.product_id)?.target ?? null;
  const wanted = target?.methods[kind];
  const usable = (one) => one.kind === kind && (wanted ? one.id === wanted : one.active);
  const began = versionId && version(kit, versionId);
  const method = began?.kind === kind ? began : kit.methods.find(usable);
  const onScale = kit.meters.filter((one) => !target || one.scale_id === target.scale_id);
  const meters = onScale.length ? onScale : kit.meters;
  if (!method || !meters.length) return null;
  const chosen = meters.find((one) => one.id === meterId) ?? meters[0];
  return { batch, kind, method, target, meters, meter: chosen, ...groundAt(kit, method), ...readBy(kit, batch, kind, method, chosen, target) };
}

// The setting to which a grinder was moved by what waits here, which the server does not know yet; or nothing.
export function movedTo({ waits = [] }, grinder) {
  const moved = waits.filter(({ kind, form }) => kind === "grinder_event" && form.what === "setting" && form.grinder === grinder);
  return moved.sort((a, b) => (a.made_at < b.made_at ? -1 : 1)).at(-1)?.form.setting;
}

// The method's own setting first (webapp/bench/page.py, settings_for and likely_setting).
function groundAt(kit, { setting: own }) {
  const grinder = own && kit.settings.find((one) => one.id === own.id)?.grinder_id;
  const all = own?.id ? [own, ...kit.settings.filter((one) => one.id !== own.id)] : [];
  return { settings: all.map((one) => ({ id: one.id, name: `${one.name}, ${one.grinder}` })), setting: movedTo(kit, grinder) ?? own?.now };
}

function readBy(kit, batch, kind, method, chosen, target) {
  const onScale = target?.scale_id === chosen.scale_id;
  const shown = kit.history.find(
    (one) =>
      one.product_id === batch.product_id && one.version_id === method.version_id && one.scale_id === chosen.scale_id,
  );
  return {
    scale: scale(kit, chosen.scale_id),
    sigmas: sigmas(kit, method.version_id, chosen.scale_id),
    band: (onScale && target.bands[kind]) || null,
    history: { mean: shown?.mean ?? 0, sd: shown?.sd ?? 0, n: shown?.n ?? 0 },
    wholeDigits: shown?.wholeDigits ?? null,
  };
}

// The same as the capture page's script takes it (CapturePage.kit).
export function forCapture({ kind, method, scale: on, sigmas: spread, meter: by, band, target, history, wholeDigits }) {
  const { lower, upper, step, lighter } = on;
  const { sigmaR, sigmaF, source } = spread;
  return {
    kind, planned: method.planned_readings, scale: { lower, upper, step, lighter }, sigmas: { sigmaR, sigmaF, source },
    uMeter: by.uMeter, band, rule: target?.rule ?? null, history, wholeDigits,
  };
}
