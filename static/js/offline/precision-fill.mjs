// Fills the form of one fill of a precision study from the kit; for its own person only.
import { scale } from "./known.mjs";
import { address, isRead, nextOwn, ownFills } from "./precision.mjs";
import { begin, dress, facts, prepared, rows } from "./study-form.mjs";

// shell: the page (shell.mjs). Null for what this tablet does not know.
export async function precisionPage(shell, id, noText) {
  const { kit, pages, words, person } = shell;
  const there = kit.studies?.find((one) => one.id === id);
  const place = there?.places.find((one) => one.no === Number(noText));
  if (!place) return null;
  const own = await ownFills(kit);
  if (place.person_id !== person.id) return other(shell, there, place, nextOwn(there, own, person.id));
  if (isRead(there, own, place) && !refused(kit, there, place)) return pages.page("fill-read");
  const page = pages.page(`fill-${there.kind}`);
  page.title = words.say("fill_of", { name: place.name, no: place.fill_no, of: there.fills });
  const on = scale(kit, there.scale_id);
  const form = begin(shell, page, {
    ...there, on,
    data: {
      draft: `precision/${there.id}/${place.no}`, next: address(there, nextOwn(there, own, person.id, place.no)),
      about: `${there.name} · ${page.title}`, planned: there.readings,
    },
    values: { study: there.id, place: place.no },
  });
  form.querySelector("h1").textContent = page.title;
  form.querySelector(".lead").textContent = words.say("mix", there);
  facts(form, "meter", there, on, words);
  prepared(form, there);
  const fill = form.querySelector("[data-fill]");
  fill.querySelector("legend").firstChild.textContent = words.count("readings", there.readings);
  rows(fill, there, "", (no) => words.say("counts_alone", { no }));
  return page;
}

// The server has looked at it and sent it back: it is put right in its own form.
const refused = ({ waits }, there, { no }) =>
  waits.some(({ kind, state, form }) => kind === "precision_fill" && state === "attention" && form.study === there.id && form.place === `${no}`);

function other({ pages, words, path }, there, place, next) {
  const page = pages.page("fill-other");
  dress(pages);
  page.title = words.say("fill_whose", place);
  page.where.querySelector("a").href = "/";
  page.where.querySelector("a").firstElementChild.textContent = there.name;
  page.main.querySelector("h1").textContent = page.title;
  page.main.querySelector(".lead").textContent = words.say("fill_only", place);
  page.main.querySelector(".actions a").href = "/";
  const own = page.main.querySelector("[data-own]");
  if (next) own.href = address(there, next);
  else own.remove();
  page.main.querySelector("[data-change]").href = `/sign-in?next=${encodeURIComponent(path)}`;
  return page;
}
