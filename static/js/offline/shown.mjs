// What the shell shows of this tablet's batches: where one stands, what there is of today; and the page that asks why.
// shell: the page (shell.mjs). Null for what this tablet does not know.
import { parseDecimal, showValue } from "../measure/numbers.mjs";
import { waitingHands } from "./hands.mjs";
import { machine, product, wanted } from "./known.mjs";
import { clock, day, place, repeat } from "./parts.mjs";

export async function resultPage(shell, id) {
  const known = shell.batch(id);
  if (!known) return null;
  const [{ opened, workOut }, { fillHow, fillResult }] = await Promise.all([import("./standing.mjs"), import("./result-view.mjs")]);
  const { kit, pages, words, person } = shell;
  const { batch, product: made } = known;
  const stands = workOut(kit, made.id, batch.samples);
  const own = new Set(batch.samples.filter((sample) => opened(kit, sample)).map((sample) => sample.sample_kind));
  const decision = standing(batch);
  const it = {
    batch, product: made, stands, role: person.role, hands: waitingHands(kit, batch),
    missing: wanted(made).filter((kind) => !batch.read.has(kind)),
    elsewhere: [...batch.read].filter((kind) => !own.has(kind)),
    lines: lines(shell, batch),
    decision: decision && { ...decision.form, name: person.name, clock: shell.time(decision.made_at) },
  };
  const page = fillResult(pages, it, words);
  if (stands) page.main.firstElementChild.querySelector(":scope > .actions").before(fillHow(pages, it, words));
  return page;
}

// One's own newest decision; one that asked for another reading says nothing more once there is one.
function standing({ decision, taken }) {
  const spent = decision?.form.what === "remeasure" && taken.some((sample) => sample.made_at > decision.made_at);
  return spent ? null : decision;
}

function lines(shell, batch) {
  const { words, kit, person } = shell;
  const by = machine(kit, batch.machine_id)?.name ?? "";
  const found = [[words.say("roasted"), `${clock(shell.roastedAt(batch), kit.site.time_zone)}, ${by}`]];
  const loss = roastLoss(batch, words.mark);
  if (loss) found.push([words.say("roast_loss"), loss]);
  for (const sample of batch.samples) {
    found.push([words.say(`${sample.sample_kind}_by`), `${person.name}, ${shell.time(sample.made_at)}`]);
  }
  return found;
}

// "14.2 %", or "" while the masses are not both known.
function roastLoss({ green, roasted }, mark) {
  const grams = (text) => {
    try {
      return parseDecimal(text ?? "", 3);
    } catch {
      return 0;
    }
  };
  const [before, after] = [grams(green), grams(roasted)];
  if (!(before > 0 && after > 0 && after <= before)) return "";
  return `${showValue((100 * (before - after)) / before, 0.1, mark)} %`;
}

export function reasonPage(shell, id, what) {
  const known = shell.batch(id);
  if (!known || shell.person.role === "trainee") return null;
  const { batch, product: made } = known;
  const title = shell.words.say(`title_${what}`, { code: batch.code });
  const page = shell.pages.page(`reason-${what}`);
  const form = page.main.querySelector("form");
  page.title = title;
  place(page, batch, made);
  form.setAttribute("action", `/batches/${batch.id}/decision`);
  Object.assign(form.dataset, { batch: batch.id, about: `${made.name} · ${batch.code}` });
  form.querySelector("h1").textContent = title;
  form.querySelector("[name=id]").setAttribute("value", crypto.randomUUID());
  const last = standing(batch);
  form.querySelector("[name=seen]").setAttribute("value", batch.decision?.id ?? "");
  const line = form.querySelector("[data-supersedes]");
  if (last && what !== last.form.what) line.firstChild.data = shell.words.say("supersedes", { said: said(shell, last) });
  else line.remove();
  form.querySelector(".actions a").href = `/batches/${batch.id}/result`;
  return page;
}

// As webapp/ui/decision_words.py, said.
function said(shell, { form, made_at: madeAt }) {
  const { words, person } = shell;
  const by = `${words.say(form.what)} ${words.say("by", { name: person.name, time: shell.time(madeAt) })}`;
  return form.reason ? `${by} “${form.reason}”` : by;
}

// What this tablet has of today, the newest first; older batches while something of them waits.
export function todayPage(shell) {
  const { kit, words } = shell;
  const page = shell.pages.page("today");
  const zone = kit.site.time_zone;
  const today = day(new Date(), zone);
  const found = [...shell.batches.values()]
    .map((batch) => ({ batch, product: product(kit, batch.product_id), at: shell.roastedAt(batch) }))
    .filter((one) => one.product && (one.batch.waits || day(one.at, zone) === today))
    .sort((a, b) => b.at - a.at);
  const list = page.main.querySelector("[data-batches]");
  repeat(list.firstElementChild, found, (row, { batch, product: made, at }) => {
    const put = (name, text) => (row.querySelector(`[data-${name}]`).textContent = text);
    const open = wanted(made).filter((kind) => !batch.read.has(kind));
    const kinds = open.map((kind) => words.say(kind).toLowerCase()).join(", ");
    row.querySelector("a").href = `/batches/${batch.id}/${open[0] && !batch.samples.length ? open[0] : "result"}`;
    put("code", batch.code);
    put("product", made.name);
    put("clock", clock(at, zone));
    const states = [kinds && words.say("to_read", { kinds }), batch.waits && words.say("kept")];
    put("state", states.filter(Boolean).join(" · "));
  });
  page.main.querySelector("[data-none]").hidden = found.length > 0;
  list.hidden = !found.length;
  const gear = page.main.querySelector("[data-gear]");
  import("./today-gear.mjs").then(({ fillGear }) => fillGear(shell, gear)).catch(console.warn);
  return page;
}
