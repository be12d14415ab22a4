// Fills the online capture page's own form from the kit.
import { drawGauge, makeGauge } from "../ui/gauge-geometry.mjs";
import { alone, forCapture } from "./known.mjs";
import { place, renumber, repeat, textOr } from "./parts.mjs";

const MOST_FILLS = 4;

// The capture page. gauge: one of this kind, drawn for anything; it: what kit.choose gives, with `product` and `onward` (the next kind, or null); person: who is
// here, with their habits; earlier: what was read already, {clock, name}, or null; stored: ids of such samples.
export function capture(page, gauge, it, { words, person, pictures, earlier, stored, now = new Date() }) {
  const form = page.main.querySelector("form");
  const { batch, kind, method } = it;
  const walk = !alone(person, kind, now.toISOString());
  page.title = `${words.say(kind)}, ${batch.code}`;
  place(page, batch, it.product);
  Object.assign(form.dataset, {
    kit: JSON.stringify(forCapture(it)), walk: walk ? 1 : 0, autoPoint: person.auto_point ? 1 : 0,
    short: person.short_checklist ? 1 : 0, draft: `${batch.id}/${kind}`, stored: stored.join(" "),
    onward: it.onward ?? "", about: `${it.product.name} · ${batch.code}`,
  });
  const values = { id: crypto.randomUUID(), made_at: now.toISOString(), method_version: method.version_id };
  for (const [name, value] of Object.entries(values)) form.querySelector(`[name="${name}"]`).setAttribute("value", value);
  const said = form.querySelector(".said");
  textOr(said, earlier && words.say("earlier", { kind: words.say(kind), time: earlier.clock, name: earlier.name }));
  head(form, it, words);
  meterLine(form.querySelector("[data-meter-line]"), it);
  steps(form, method, words, pictures);
  if (walk) form.querySelector("[data-switch]").remove();
  const { lower, centre, upper } = it.band ?? { lower: null, centre: null, upper: null };
  const { step, lighter } = it.scale;
  const ends = [it.scale.lower, it.scale.upper];
  const empty = makeGauge({ kind, lower, centre, upper, step, lighter, scale: ends, mark: words.mark });
  form.querySelector(".gauge").replaceWith(gauge);
  drawGauge(gauge, empty, words);
  fills(form, method, words);
  const onward = form.querySelector(".readings .actions .primary");
  onward.textContent = words.say(`onto_${it.onward ?? "result"}`);
  return page;
}

function choices(field, all, chosen) {
  const options = all.map(({ id, name }) => new Option(name, id, id === chosen, id === chosen));
  field.querySelector("select").replaceChildren(...options);
}

function head(form, { kind, method, meters, meter, settings, setting }, words) {
  const title = form.querySelector(".head .line");
  title.firstChild.textContent = `${words.say(kind)} `;
  const dish = form.querySelector(".head .line .soft");
  textOr(dish, method.dish && `· ${method.dish}`);
  const at = form.querySelector(".at");
  const apart = form.querySelector(".apart");
  if (settings.length > 1) {
    choices(at, settings, setting);
    apart.textContent = words.say("kept_apart", { setting: method.setting.name });
  } else {
    at.remove();
    apart.remove();
  }
  const field = form.querySelector(".head .meter");
  if (meters.length > 1) {
    choices(field, meters, meter.id);
    return;
  }
  const name = Object.assign(document.createElement("p"), { className: "eyebrow", textContent: meter.name });
  name.append(Object.assign(document.createElement("input"), { type: "hidden", name: "meter", value: meter.id }));
  field.replaceWith(name);
}

// How the meter stands: `it.stands` comes from meter-state.mjs, which loads after the form.
function meterLine(line, { meter, stands }) {
  if (!meter.control?.rule && !meter.control?.last) return line.remove();
  const link = line.querySelector("a");
  const text = line.firstElementChild;
  link.href = `/gear/meters/${meter.id}/check`;
  text.textContent = "";
  stands().then(({ said, fine }) => {
    text.textContent = `${meter.name}: ${said}`;
    line.className = `meter-line ${fine ? "soft small" : "caution"}`;
    if (fine || !meter.plate) link.remove();
  });
}

function steps(form, method, words, pictures) {
  const all = method.steps;
  repeat(form.querySelector("[data-progress] i"), all, () => {});
  repeat(form.querySelector("[data-step]"), all, (section, step, index) => {
    renumber(section, "steps-0-", `steps-${index}-`);
    renumber(section, "step-1", `step-${step.no}`);
    section.dataset.step = step.no;
    const one = (selector) => section.querySelector(selector);
    one(".eyebrow").textContent = words.say("step_of", { no: step.no, of: all.length });
    one(".title").textContent = step.title;
    const [body, setting] = section.querySelectorAll(".lead");
    textOr(body, step.body);
    const needsSetting = step.picture.includes("setting") && method.setting;
    if (needsSetting) setting.firstElementChild.textContent = `${method.setting.grinder}: ${method.setting.name}`;
    else setting.remove();
    timer(one(".timer"), step.timer_s);
    note(one(".note"), step);
    if (step.caution) one(".caution").lastChild.textContent = ` ${step.caution}`;
    else one(".caution").remove();
    why(one("details"), step, pictures);
    one("[data-tick] span").textContent = step.done_label || words.say("done");
    picture(one(".picture"), step.picture, index, pictures);
  });
}

function timer(box, seconds) {
  if (!seconds) return box.remove();
  box.dataset.timer = seconds;
  box.querySelector(".figure").textContent = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

function note(field, step) {
  if (!step.note_label) return field.remove();
  field.querySelector("label").textContent = step.note_label;
  textOr(field.querySelector(".unit"), step.note_unit);
}

function picture(box, name, index, folder) {
  if (!name) return box.remove();
  const image = box.querySelector("img");
  image.setAttribute("src", `${folder}${name}.svg`);
  if (index) image.setAttribute("loading", "lazy");
}

// Kits of older builds say nothing of what goes wrong.
function why(details, { why: reason, wrong, picture: name }, folder) {
  if (!reason) return details.remove();
  details.querySelector("p").textContent = reason;
  const figure = details.querySelector("figure");
  if (!wrong) return figure.remove();
  figure.querySelector("img").setAttribute("src", `${folder}${name}-wrong.svg`);
  figure.querySelector("figcaption").textContent = wrong;
}

function fills(form, method, words) {
  const [first, second] = form.querySelectorAll("[data-fill]");
  const count = Math.min(MOST_FILLS, method.planned_fills + 1);
  rows(first, 0, method, words);
  repeat(second.closest("details"), Array.from({ length: count - 1 }), (box, _none, index) => {
    const number = index + 2;
    const fill = box.querySelector("[data-fill]");
    for (const title of box.querySelectorAll("summary, legend")) title.firstChild.textContent = words.say("fill", { no: number });
    renumber(box, "fills-1-", `fills-${number - 1}-`);
    fill.dataset.fill = number;
    fill.toggleAttribute("data-used", number <= method.planned_fills);
    rows(fill, number - 1, method, words);
  });
}

// The pattern's two rows: one of the plan, one that is only read when asked for.
function rows(fill, at, method, words) {
  const [planned, further] = fill.querySelectorAll("[data-row]");
  const kinds = Array.from({ length: method.rows }, (_none, index) => (index < method.planned_readings ? planned : further));
  const made = kinds.map((pattern, index) => {
    const from = `fills-${at}-readings-${pattern === planned ? 0 : 1}-`;
    const row = pattern.cloneNode(true);
    renumber(row, from, `fills-${at}-readings-${index}-`);
    row.querySelector(".no").textContent = index + 1;
    row.querySelector("select").setAttribute("aria-label", words.say("counts", { no: index + 1, fill: at + 1 }));
    return row;
  });
  fill.querySelector(".rows").replaceChildren(...made);
}
