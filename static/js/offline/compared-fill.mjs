// Fills the form of one coffee of a comparison on one side from the kit.
import { address, cup, nextOpen, openTo, ownCoffees, reads, sideName } from "./compared.mjs";
import { scale } from "./known.mjs";
import { renumber, repeat, textOr } from "./parts.mjs";
import { begin, facts, prepared, rows } from "./study-form.mjs";

// shell: the page (shell.mjs). Null for what this tablet does not know.
export async function comparedPage(shell, id, noText, side) {
  const there = shell.kit.comparisons?.find((one) => one.id === id);
  const coffee = there?.coffees.find((one) => one.no === Number(noText));
  if (!coffee) return null;
  const { pages, words, kit, person } = shell;
  if (!openTo(there, side, person)) return othersCup(shell, there, coffee, side);
  const own = await ownCoffees(kit);
  const page = pages.page(`read-${there.kind}`);
  const [name, of] = [cup(words, coffee), sideName(words, there, side)];
  const on = scale(kit, there.scale_id);
  const next = nextOpen(there, own, person, { no: coffee.no, side });
  page.title = words.say("with", { cup: name, side: of });
  const it = there.sides[side];
  const form = begin(shell, page, {
    kind: there.kind, name: there.name, method: it.method, on,
    data: {
      draft: `comparison/${there.id}/${coffee.no}/${side}`, next: address(there, next), about: `${there.name} · ${name} · ${of}`,
      planned: there.readings,
    },
    values: { comparison: there.id, coffee: coffee.no, side },
  });
  form.querySelector("h1").textContent = name;
  const earlier = reads(there, own, coffee, side).at(-1);
  const said = form.querySelector(".said");
  textOr(said, earlier && words.say("read_already", { time: shell.time(earlier.at), name: earlier.name }));
  facts(form, { meters: "meter", methods: "method", people: "" }[there.what] ?? "setting", it, on, words);
  prepared(form, it);
  fills(form, there, words);
  return page;
}

// A cup of a sign-off that is somebody else's: whose it is, and how that person takes over.
function othersCup({ pages, words, path }, there, coffee, side) {
  const page = pages.page("others-cup");
  const name = sideName(words, there, side);
  const called = { cup: cup(words, coffee), name };
  page.title = words.say("cup_of", called);
  page.main.querySelector("h1").textContent = page.title;
  page.main.querySelector(".lead").textContent = words.say("others_cup", { name });
  page.main.querySelector(".primary").href = `/sign-in?next=${encodeURIComponent(path)}`;
  for (const link of [page.where.querySelector("a"), page.main.querySelector(".actions a")]) link.href = "/";
  page.where.querySelector("a").firstElementChild.textContent = there.name;
  return page;
}

function fills(form, there, words) {
  const [first, second] = form.querySelectorAll("[data-fill]");
  const further = repeat(second, Array.from({ length: there.fills - 1 }), (fill, _none, index) => {
    renumber(fill, "fills-1-", `fills-${index + 1}-`);
    fill.querySelector("legend").firstChild.textContent = words.say("fill", { no: index + 2 });
  });
  for (const [at, fill] of [first, ...further].entries()) {
    rows(fill, there, `fills-${at}-`, (no) => words.say("counts", { no, fill: at + 1 }));
  }
}
