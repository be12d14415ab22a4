// Fills the form of one coffee of a comparison on one side from the kit.
import { showValue } from "../measure/rounding.mjs";
import { scale } from "./choose.mjs";
import { address, cup, nextOpen, openTo, ownReads, reads, sideName } from "./compared.mjs";
import { renumber, repeat, textOr } from "./parts.mjs";

// shell: the page (shell.mjs). Null for what this tablet does not know.
export async function comparedPage(shell, id, noText, side) {
  const there = shell.kit.comparisons?.find((one) => one.id === id);
  const coffee = there?.coffees.find((one) => one.no === Number(noText));
  if (!coffee) return null;
  const { pages, words, kit, person } = shell;
  if (!openTo(there, side, person)) return othersCup(shell, there, coffee, side);
  const own = await ownReads(kit);
  const page = pages.page(`read-${there.kind}`);
  const form = page.main.querySelector("form");
  const [name, of] = [cup(words, coffee), sideName(words, there, side)];
  const on = scale(kit, there.scale_id);
  const next = nextOpen(there, own, person, { no: coffee.no, side });
  page.title = words.say("with", { cup: name, side: of });
  const place = page.where.querySelector("a");
  place.href = "/";
  place.firstElementChild.textContent = there.name;
  Object.assign(form.dataset, {
    draft: `comparison/${there.id}/${coffee.no}/${side}`, next: address(there, next), about: `${there.name} · ${name} · ${of}`,
    planned: there.readings, lower: on.lower, upper: on.upper, stepSize: on.step,
  });
  const values = { id: crypto.randomUUID(), made_at: new Date().toISOString(), comparison: there.id, coffee: coffee.no, side };
  for (const [field, value] of Object.entries(values)) form.querySelector(`[name="${field}"]`).setAttribute("value", value);
  form.querySelector("h1").textContent = name;
  const earlier = reads(there, own, coffee, side).at(-1);
  const said = form.querySelector(".said");
  textOr(said, earlier && words.say("read_already", { time: shell.time(earlier.at), name: earlier.name }));
  const { method } = there.sides[side];
  const kind = form.querySelector(".eyebrow").lastChild;
  kind.textContent = ` ${[words.say(there.kind), method.dish].filter(Boolean).join(" · ")}`;
  facts(form, there, there.sides[side], on, words);
  prepared(form, there.sides[side]);
  fills(form, there, words);
  form.querySelector(".actions a").href = "/";
  const styles = pages.fragment("styles");
  if (!document.head.querySelector("[data-styles]")) {
    styles.lastElementChild.dataset.styles = "";
    document.head.append(styles);
  }
  return page;
}

// A cup of a sign-off that is somebody else's: whose it is, and how that person takes over.
function othersCup({ pages, words, path }, there, coffee, side) {
  const page = pages.page("others-cup");
  const name = sideName(words, there, side);
  page.title = words.say("cup_of", { cup: cup(words, coffee), name });
  page.main.querySelector("h1").textContent = page.title;
  page.main.querySelector(".lead").textContent = words.say("others_cup", { name });
  page.main.querySelector(".primary").href = `/sign-in?next=${encodeURIComponent(path)}`;
  for (const link of [page.where.querySelector("a"), page.main.querySelector(".actions a")]) link.href = "/";
  page.where.querySelector("a").firstElementChild.textContent = there.name;
  return page;
}

// What is in hand stands out.
function facts(form, { what }, { meter, grinder, setting, method }, on, words) {
  const [first, second, third] = form.querySelectorAll(".facts > div");
  const put = (box, text, inHand) => {
    const value = box.querySelector("dd");
    value.firstChild.textContent = text;
    value.classList.toggle("in-hand", inHand);
  };
  const figure = (value) => showValue(value, on.step, words.mark);
  put(first, `${meter} `, what === "meters");
  const ends = { lower: figure(on.lower), upper: figure(on.upper), step: figure(on.step) };
  first.querySelector(".range").textContent = words.say("scale_range", ends);
  if (setting) put(second, `${grinder}, ${setting}`, what === "grinders" || what === "settings");
  else second.remove();
  put(third, words.say("method_no", method), what === "methods");
}

function prepared(form, { grinder, setting, method }) {
  repeat(form.querySelector(":scope > .caution"), method.steps.filter((step) => step.caution), (line, step) => {
    line.lastChild.textContent = ` ${step.caution}`;
  });
  repeat(form.querySelector(".how li"), method.steps, (item, step) => {
    const title = Object.assign(document.createElement("strong"), { textContent: step.title });
    const at = Object.assign(document.createElement("strong"), { textContent: `${grinder}: ${setting}` });
    item.replaceChildren(title, step.body ? ` ${step.body} ` : " ", ...(step.setting && setting ? [at] : []));
  });
}

function fills(form, { fills: count, readings, rows }, words) {
  const [first, second] = form.querySelectorAll("[data-fill]");
  const further = repeat(second, Array.from({ length: count - 1 }), (fill, _none, index) => {
    renumber(fill, "fills-1-", `fills-${index + 1}-`);
    fill.querySelector("legend").firstChild.textContent = words.say("fill", { no: index + 2 });
  });
  for (const [at, fill] of [first, ...further].entries()) {
    const [planned, more] = fill.querySelectorAll("[data-row]");
    const made = Array.from({ length: rows }, (_none, index) => {
      const pattern = index < readings ? planned : more;
      const row = pattern.cloneNode(true);
      renumber(row, `fills-${at}-readings-${pattern === planned ? 0 : 1}-`, `fills-${at}-readings-${index}-`);
      row.querySelector(".no").textContent = index + 1;
      row.querySelector("select").setAttribute("aria-label", words.say("counts", { no: index + 1, fill: at + 1 }));
      return row;
    });
    fill.querySelector(".rows").replaceChildren(...made);
  }
}
