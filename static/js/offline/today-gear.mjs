// What can be done without the server besides a batch: a short list below "What this tablet has".
import { address, cup, nextOpen, ownCoffees, sideName } from "./compared.mjs";
import { WHATS } from "./grinder-fill.mjs";
import { repeat } from "./parts.mjs";
import { address as fillAddress, nextOwn, ownFills } from "./precision.mjs";

export async function fillGear(shell, section) {
  const { kit, words, person } = shell;
  const rows = kit.meters.filter((one) => one.plate).map(({ id, name }) => [
    "", [[`/gear/meters/${id}/check`, words.say("check_of", { name })]],
  ]);
  for (const { id, name } of person.role === "trainee" ? [] : (kit.grinders ?? [])) {
    if (!kit.settings.some((one) => one.grinder_id === id)) continue;
    const entries = WHATS.map((what) => [`/gear/grinders/${id}/log?what=${what}`, words.say(`log_${what}`)]);
    rows.push([name, [...entries, [`/gear/grinders/${id}/grind-check`, words.say("grind_check")]]]);
  }
  const own = await ownCoffees(kit);
  for (const there of kit.comparisons ?? []) {
    const next = nextOpen(there, own, person);
    if (!next) continue;
    const said = words.say("next_read", { cup: cup(words, next.coffee), side: sideName(words, there, next.side) });
    rows.push([there.name, [[address(there, next), said]]]);
  }
  const fills = await ownFills(kit);
  for (const there of kit.studies ?? []) {
    const next = nextOwn(there, fills, person.id);
    if (next) rows.push([there.name, [[fillAddress(there, next), words.say("own_fill", { no: next.fill_no, of: there.fills })]]]);
  }
  repeat(section.querySelector("li"), rows, (row, [name, links]) => {
    row.firstElementChild.textContent = name;
    if (!name) row.firstElementChild.remove();
    repeat(row.querySelector("a"), links, (link, [href, text]) => Object.assign(link, { href, textContent: text }));
  });
  section.hidden = !rows.length;
}
