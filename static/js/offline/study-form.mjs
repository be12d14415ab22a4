// What the forms of a compared coffee and of a study's fill share, filled from the kit (templates/studies/parts.html).
import { showValue } from "../measure/numbers.mjs";
import { renumber, repeat } from "./parts.mjs";

// The page's place in the top line, its form's own numbers, and the styles that the shell does not have by itself.
export function begin({ pages, words }, page, { kind, name, method, on, data, values }) {
  const form = page.main.querySelector("form");
  const place = page.where.querySelector("a");
  place.href = "/";
  place.firstElementChild.textContent = name;
  Object.assign(form.dataset, { lower: on.lower, upper: on.upper, stepSize: on.step }, data);
  const own = { id: crypto.randomUUID(), made_at: new Date().toISOString(), ...values };
  for (const [field, value] of Object.entries(own)) form.querySelector(`[name="${field}"]`).setAttribute("value", value);
  form.querySelector(".eyebrow").lastChild.textContent = ` ${[words.say(kind), method.dish].filter(Boolean).join(" · ")}`;
  form.querySelector(".actions a").href = "/";
  dress(pages);
  return form;
}

export function dress(pages) {
  const styles = pages.fragment("styles");
  if (document.head.querySelector("[data-styles]")) return;
  styles.lastElementChild.dataset.styles = "";
  document.head.append(styles);
}

// inHand: "meter", "setting" or "method" stands out.
export function facts(form, inHand, { meter, grinder, setting, method }, on, words) {
  const [first, second, third] = form.querySelectorAll(".facts > div");
  const put = (box, text, what) => {
    const value = box.querySelector("dd");
    value.firstChild.textContent = text;
    value.classList.toggle("in-hand", what === inHand);
  };
  const figure = (value) => showValue(value, on.step, words.mark);
  put(first, `${meter} `, "meter");
  const ends = { lower: figure(on.lower), upper: figure(on.upper), step: figure(on.step) };
  first.querySelector(".range").textContent = words.say("scale_range", ends);
  if (setting) put(second, `${grinder}, ${setting}`, "setting");
  else second.remove();
  put(third, words.say("method_no", method), "method");
}

export function prepared(form, { grinder, setting, method }) {
  repeat(form.querySelector(":scope > .caution"), method.steps.filter((step) => step.caution), (line, step) => {
    line.lastChild.textContent = ` ${step.caution}`;
  });
  repeat(form.querySelector(".how li"), method.steps, (item, step) => {
    const title = Object.assign(document.createElement("strong"), { textContent: step.title });
    const at = Object.assign(document.createElement("strong"), { textContent: `${grinder}: ${setting}` });
    item.replaceChildren(title, step.body ? ` ${step.body} ` : " ", ...(step.setting && setting ? [at] : []));
  });
}

// The rows of a fill from its two patterns, a planned one and one more. start: what their names begin with; counts(no):
// what a row's select is called.
export function rows(fill, { readings, rows: count }, start, counts) {
  const [planned, more] = fill.querySelectorAll("[data-row]");
  const made = Array.from({ length: count }, (_none, index) => {
    const pattern = index < readings ? planned : more;
    const row = pattern.cloneNode(true);
    renumber(row, `${start}readings-${pattern === planned ? 0 : 1}-`, `${start}readings-${index}-`);
    row.querySelector(".no").textContent = index + 1;
    row.querySelector("select").setAttribute("aria-label", counts(index + 1));
    return row;
  });
  fill.querySelector(".rows").replaceChildren(...made);
}
