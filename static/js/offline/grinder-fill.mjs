// Fills the forms of a grinder from the kit: an entry of its log, and a grind check.
import { movedTo } from "./known.mjs";
import { repeat, textOr } from "./parts.mjs";

export const WHATS = ["setting", "burrs", "cleaned", "aligned"];
const FILLS = { log, "grind-check": check };

// shell: the page (shell.mjs). Null for what this tablet does not know.
export async function grinderPage(shell, id, which) {
  if (shell.person.role === "trainee") return notYours(shell);
  const it = shell.kit.grinders?.find((one) => one.id === id);
  if (!it || !FILLS[which]) return null;
  const settings = shell.kit.settings.filter((one) => one.grinder_id === id);
  return FILLS[which](shell, { ...it, settings, now: movedTo(shell.kit, id) ?? it.now });
}

// As the server says it: the grinder is for who is signed off.
function notYours({ pages, path }) {
  const page = pages.page("not-yours");
  const [person, strip] = page.main.querySelectorAll("a");
  person.href = `/sign-in?next=${encodeURIComponent(path)}`;
  strip.href = "/";
  return page;
}

function log({ pages, words }, it) {
  const asked = new URLSearchParams(location.search).get("what") ?? "setting";
  if (!WHATS.includes(asked)) return null;
  const page = pages.page("grinder-log");
  const form = page.main.querySelector("form");
  const title = words.say(`log_${asked}`);
  form.setAttribute("action", `/gear/grinders/${it.id}/log?what=${asked}`);
  begin(page, form, it, { draft: `log/${asked}`, about: title });
  page.title = `${it.name}: ${title}`;
  form.querySelector('[name="what"]').setAttribute("value", asked);
  textOr(form.querySelector(".eyebrow"), it.name);
  form.querySelector("h1").textContent = title;
  if (asked === "setting") form.querySelector(".caution").remove();
  if (asked !== "burrs") form.querySelector(".lead").remove();
  if (asked === "setting") settings(form, it.settings, null);
  else form.querySelector("#setting").remove();
  return page;
}

function check({ pages, words }, it) {
  const page = pages.page("grind-check");
  const form = page.main.querySelector("form");
  begin(page, form, it, { draft: "grind-check", about: words.say("grind_check") });
  page.title = words.say("grind_check_of", { name: it.name });
  form.querySelector("h1").textContent = page.title;
  settings(form, it.settings, it.now);
  return page;
}

function begin(page, form, it, { draft, about }) {
  const place = page.where.querySelector("a");
  place.href = "/";
  place.firstElementChild.textContent = it.name;
  Object.assign(form.dataset, { draft: `grinder/${it.id}/${draft}`, next: "/", about: `${it.name}: ${about}` });
  const values = { id: crypto.randomUUID(), made_at: new Date().toISOString(), grinder: it.id };
  for (const [field, value] of Object.entries(values)) form.querySelector(`[name="${field}"]`).setAttribute("value", value);
  form.querySelector(".actions a").href = "/";
}

function settings(form, all, chosen) {
  repeat(form.querySelector("#setting .option"), all, (option, one, index) => {
    const input = option.querySelector("input");
    input.id = `setting-${index}`;
    input.setAttribute("value", one.id);
    input.toggleAttribute("checked", one.id === chosen);
    option.querySelector("span").textContent = one.name;
  });
}
