// Fills the gear's own forms from the kit: a meter's check; the others when they are asked for.
import { showValue } from "../measure/numbers.mjs";
import { meter, scale } from "./known.mjs";
import { renumber, repeat } from "./parts.mjs";

// shell: the page (shell.mjs); found: what, id, which form. Null for what this tablet does not know.
export async function gearPage(shell, [what, id, ...more]) {
  if (what === "grinders") return (await import("./grinder-fill.mjs")).grinderPage(shell, id, ...more);
  if (what === "comparisons") return (await import("./compared-fill.mjs")).comparedPage(shell, id, ...more);
  if (what === "studies/precision") return (await import("./precision-fill.mjs")).precisionPage(shell, id, ...more);
  const it = meter(shell.kit, id);
  if (!it?.plate) return null;
  return check(shell, it);
}

async function check(shell, it) {
  const { pages, words, kit, person } = shell;
  const page = pages.page("meter-check");
  const form = page.main.querySelector("form");
  const on = scale(kit, it.scale_id);
  const rule = it.control?.rule;
  const planned = rule?.planned ?? 3;
  const name = words.say("check_of", { name: it.name });
  page.title = name;
  page.where.querySelector("a").href = "/";
  page.where.querySelector("a").firstElementChild.textContent = it.name;
  Object.assign(form.dataset, {
    draft: `check/${it.id}`, next: "/", about: name, walk: person.role === "trainee" ? 1 : 0, short: person.short_checklist ? 1 : 0,
    plate: it.plate.name, assigned: it.plate.assigned, tolerance: it.plate.tolerance,
    lower: on.lower, upper: on.upper, stepSize: on.step, lighter: on.lighter,
  });
  const values = { id: crypto.randomUUID(), made_at: new Date().toISOString(), meter: it.id, plate: it.plate.id };
  for (const [field, value] of Object.entries(values)) form.querySelector(`[name="${field}"]`).setAttribute("value", value);
  form.querySelector("h1").textContent = name;
  const stands = await shell.meterStands(it);
  form.querySelector("[data-line]").textContent = stands.said;
  const timer = form.querySelector(".timer");
  if (rule?.warm_up_s) {
    timer.dataset.timer = rule.warm_up_s;
    timer.querySelector(".figure").textContent = `${Math.floor(rule.warm_up_s / 60)}:${String(rule.warm_up_s % 60).padStart(2, "0")}`;
  } else timer.remove();
  const lead = form.querySelector("[data-readings] .lead");
  lead.firstChild.textContent = `${words.say("read_plate", { n: planned })} `;
  const fine = (value) => showValue(value, Number.isInteger(Math.round(value * 100) / Math.round(on.step * 100)) ? on.step : 0.01);
  lead.querySelector("strong").textContent = `${fine(it.plate.assigned)} ± ${fine(it.plate.tolerance)}`;
  for (const stage of ["found", "left"]) {
    const pattern = form.querySelector(`[data-stage="${stage}"]`).closest("[data-row]");
    repeat(pattern, Array.from({ length: planned }), (row, _none, index) => {
      renumber(row, `${stage}-0-`, `${stage}-${index}-`);
      row.querySelector(".no").textContent = index + 1;
    });
  }
  for (const link of form.querySelectorAll('.actions a')) link.href = "/";
  return page;
}
