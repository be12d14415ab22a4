// Fills the online result page from what standing.mjs has worked out on the tablet.
import { showValue } from "../measure/index.mjs";
import { drawGauge, makeGauge } from "../ui/gauge-geometry.mjs";
import { shade } from "../ui/gauge.mjs";
import { handsRead, handsText } from "./hands.mjs";
import { place, textOr } from "./parts.mjs";
import { KINDS } from "./standing.mjs";
import { batchWords, partWord } from "./verdict-words.mjs";

// As webapp/store/who_decides.py, may_decide; of what others have decided a tablet knows nothing.
export function mayDecide(role, verdict, mark = "", waits = false) {
  if (role === "trainee") return [];
  const fine = !mark && (verdict === "inside" || verdict === "unjudged");
  const more = role === "lead" ? ["reject", ...(fine || waits ? [] : ["concession"])] : [];
  const again = verdict === null ? [] : ["remeasure"];
  return [...(fine && !waits ? ["release"] : []), "hold", ...again, ...more];
}

// it: {batch, product, machine, stands, missing: kinds to be read, elsewhere: kinds read where this tablet does not see
// them, facts: lines about the batch, hands: the samples that wait for a countersignature, decision: {what, reason, name, clock} or null, role}.
export function fillResult(pages, it, words) {
  const page = pages.page("result");
  const other = { missing: pages.page("result-missing").main, decided: pages.page("result-decided").main };
  const said = batchWords(it.stands, words, it.hands.length > 0);
  page.title = `${said.title} ${it.product.name}, ${it.batch.code}`;
  place(page, it.batch, it.product);
  const main = page.main;
  const box = main.firstElementChild;
  Object.assign(box.dataset, { stored: "", drafts: "" });
  verdict(box, said, it, pages, other, words);
  const { burrs } = it.stands?.parts.ground ?? {};
  const line = box.querySelector("[data-burrs]");
  if (burrs) line.firstChild.data = `${words.say("burrs", { day: burrs })} `;
  else line.remove();
  parts(box, it, other, words);
  facts(box.querySelector(".about"), it);
  hands(box, it, words);
  actions(box, said, it, other);
  return page;
}

// Who has countersigned is the server's to say.
function hands(box, { hands: waiting, decision, role }, words) {
  box.querySelector("[data-signed]").remove();
  const line = box.querySelector("[data-hands]");
  const decided = decision && ["release", "concession", "reject"].includes(decision.what);
  if (!waiting.length) return line.remove();
  if (!decided) {
    line.firstChild.data = `${handsText(waiting, words)} `;
    if (role !== "trainee") line.querySelector("strong").textContent = words.say("sign_later");
  } else line.replaceChildren(words.say("hands_none", { what: handsRead(waiting, words) }));
}

function verdict(box, said, { decision }, pages, other, words) {
  const frame = box.querySelector(":scope > .verdict");
  frame.className = `verdict ${said.verdict}`;
  const look = said.verdict === "unmeasured" ? "incomplete-" : `${said.verdict}-${said.verdict === "outside" ? said.side ?? "" : ""}`;
  const shapes = pages.fragment("shapes");
  frame.querySelector(".shape").replaceWith(shapes.querySelector(`[data-shape="${look}"]`).firstElementChild);
  const inBand = said.verdict === "inside" && !said.mark && !said.waits && !decision;
  frame.querySelector("h1").textContent = said.title + (inBand ? ` ${said.next}` : "");
  textOr(frame.querySelector("[data-mark]"), said.mark);
  const line = frame.querySelector("p:not([data-mark])");
  const strong = line.querySelector("strong");
  strong.textContent = said.next;
  line.replaceChildren(said.reason);
  if (said.next && (said.mark || said.waits || said.verdict !== "inside") && (!decision || ["hold", "remeasure"].includes(decision.what))) line.append(" ", strong);
  if (decision) line.parentElement.append(decided(other.decided.querySelector(".decided"), decision, words));
}

function decided(line, { what, name, clock, reason, customer }, words) {
  line.querySelector("strong").textContent = words.say(what);
  const whom = what === "concession" && customer ? ` ${words.say("for_customer", { customer })}` : "";
  const by = ` ${words.say("by", { name, time: clock })}${whom}`;
  line.replaceChildren(line.querySelector("strong"), reason ? `${by} “${reason}”` : by);
  return line;
}

function parts(box, it, other, words) {
  const grid = box.querySelector(".parts");
  const found = it.stands?.parts ?? {};
  grid.classList.toggle("with-difference", Boolean(found.difference));
  if (!KINDS.some((kind) => found[kind]) && !it.missing.length && !it.elsewhere.length) return grid.remove();
  for (const kind of KINDS) {
    const card = grid.querySelector(`.part.${kind}`);
    const empty = other.missing.querySelector(`.part.missing.${kind}`);
    if (found[kind]) fillPart(card, found[kind], it, words);
    else if (it.elsewhere.includes(kind)) card.replaceWith(elsewhere(empty, words));
    else if (it.missing.includes(kind)) card.replaceWith(missing(empty, kind, it));
    else card.remove();
  }
}

function missing(card, kind, { batch, decision }) {
  const link = card.querySelector("a");
  link.href = `/batches/${batch.id}/${kind}`;
  link.classList.toggle("primary", !decision);
  return card;
}

function elsewhere(card, words) {
  card.querySelector(".lead").textContent = words.say("elsewhere");
  card.querySelector("a").parentElement.remove();
  return card;
}

function fillPart(card, part, { batch, decision }, words) {
  const { step, lighter, lower, upper } = part.scale;
  const text = (number) => (number === null ? "" : showValue(number, step));
  const band = part.band ?? { lower: null, centre: null, upper: null };
  const brown = part.kind === "difference" ? "" : shade(part.value, lower, upper, lighter);
  const gauge = makeGauge({
    kind: part.kind, value: part.value, U: part.U, lower: band.lower, centre: band.centre, upper: band.upper,
    step, lighter, shade: brown, verdict: part.verdict ?? "",
  });
  card.querySelector("h2").textContent = heading(part, band, text, words);
  card.querySelector(".figure").textContent = gauge.value;
  beside(card.querySelector(".beside"), part, gauge, words);
  drawGauge(card.querySelector(".gauge"), gauge, words);
  remarks(card, part, batch, decision, words);
}

function heading(part, band, text, words) {
  const name = words.say(part.kind);
  if (!part.band) return name;
  const [low, high] = [text(band.lower), text(band.upper)];
  const limits = low && high ? words.say("part_band", { lower: low, upper: high })
    : low ? words.say("part_above", { limit: low }) : words.say("part_below", { limit: high });
  return `${name} · ${words.say("part_target", { centre: text(band.centre) })}, ${limits}`;
}

function beside(box, part, gauge, words) {
  const [assumed, word] = [box.querySelector(".soft"), box.querySelector(".word")];
  word.className = `word ${part.verdict ?? ""}`;
  word.textContent = partWord(part, words);
  const give = words.say("part_give", { u: gauge.giveOrTake });
  const first = part.sigmaSource === "assumed" ? [`${give} `, assumed] : [give];
  box.replaceChildren(...first, document.createElement("br"), word);
}

// What there may be to say beneath the gauge, in the order of the page's own lines.
function remarks(card, part, batch, decision, words) {
  const after = card.querySelector(".gauge");
  const lines = [...card.children].slice([...card.children].indexOf(after) + 1);
  const is = (needle) => lines.find((line) => line.matches(needle));
  const warnings = lines.filter((line) => line.matches(".word.undecided"));
  const measured = part.kind !== "difference";
  if (part.readingsDisagree) warnings[0].textContent = words.say(part.fills === 1 ? "new_fill" : "fill_disagrees");
  else warnings[0].remove();
  if (!part.fillsDisagree || !measured) warnings[1]?.remove();
  const again = is(".again");
  const counted = lines.find((line) => line.tagName === "P" && !line.className);
  if (part.samples > 1 && measured) counted.textContent = words.say("times_read", { n: part.samples });
  else counted?.remove();
  const closed = decision && ["release", "concession", "reject"].includes(decision.what);
  if (again && (closed || !measured)) again.remove();
  else if (again) again.querySelector("a").href = `/batches/${batch.id}/${part.kind}`;
  if (is("[data-apart]")) textOr(is("[data-apart]"), part.off && words.say("other_setting", part.off));
  const apart = lines.find((line) => line.matches("p.soft"));
  if (part.apart) apart.textContent = words.count("apart", part.apart);
  else apart?.remove();
}

function facts(card, { batch, lines }) {
  const list = card.querySelector("dl");
  const pattern = list.firstElementChild;
  list.replaceChildren(...lines.map(([name, text]) => {
    const row = pattern.cloneNode(true);
    row.querySelector("dt").textContent = name;
    row.querySelector("dd").textContent = text;
    return row;
  }));
  const [how, whole] = card.querySelectorAll("a");
  how.setAttribute("href", "#how");
  // The whole record is the server's.
  whole.remove();
}

function actions(box, said, it, other) {
  const { batch, product, decision, role } = it;
  const allowed = mayDecide(role, said.verdict === "unmeasured" ? null : said.verdict, said.mark, said.waits);
  const bar = box.querySelector(":scope > .actions");
  const form = bar.querySelector("form");
  const address = (what) => `/batches/${batch.id}/decision/${what}`;
  for (const what of ["hold", "remeasure", "reject"]) {
    const link = bar.querySelector(`a[href$="/decision/${what}"]`);
    if (allowed.includes(what) && decision?.what !== what) link.href = address(what);
    else link.remove();
  }
  const release = allowed.includes("release");
  const button = (link, what, text = link.textContent) => {
    link.setAttribute("href", address(what));
    link.textContent = text;
    return link;
  };
  const primary = () => other.decided.querySelector(".actions > a.primary");
  const releaseText = form.querySelector("button").textContent;
  if (decision?.what === "remeasure" && KINDS.some((kind) => it.stands?.parts[kind])) {
    if (release) {
      const link = primary();
      link.className = "button";
      bar.querySelector(".row").prepend(button(link, "release", releaseText), "\n");
    }
    return form.replaceWith(readAgain(it, other));
  }
  if (release && decision && !["release", "concession"].includes(decision.what)) {
    return form.replaceWith(button(primary(), "release", releaseText));
  }
  if (release && !decision) {
    form.setAttribute("action", `/batches/${batch.id}/decision`);
    Object.assign(form.dataset, { batch: batch.id, about: `${product.name} · ${batch.code}` });
    form.querySelector("[name=id]").setAttribute("value", crypto.randomUUID());
    // One that was spent by another reading has been seen all the same.
    form.querySelector("[name=seen]").setAttribute("value", batch.decision?.id ?? "");
    return;
  }
  const out = ["outside", "undecided"].includes(said.verdict) && decision?.what !== "concession";
  const unproven = said.mark && !["release", "concession"].includes(decision?.what);
  const concession = allowed.includes("concession") && (out || unproven);
  form.replaceWith(concession ? button(primary(), "concession") : other.missing.querySelector(".actions > a.primary"));
}

// What is to be read again is read with one tap.
function readAgain({ batch, stands }, other) {
  const row = document.createElement("div");
  row.className = "row";
  for (const kind of ["whole", "ground"].filter((one) => stands.parts[one])) {
    const link = other.missing.querySelector(`.part.missing.${kind} a`).cloneNode(true);
    link.className = "button primary";
    link.setAttribute("href", `/batches/${batch.id}/${kind}`);
    row.append(link);
  }
  return row;
}

// "How this was worked out": the same figures as on the batch's page.
export function fillHow(pages, { stands }, words) {
  const how = pages.fragment("how").firstElementChild;
  const blocks = [...how.querySelectorAll(":scope > .stack > div")];
  for (const [index, kind] of KINDS.entries()) {
    const part = stands?.parts[kind];
    if (!part) blocks[index].remove();
    else figures(blocks[index], part, words);
  }
  return how;
}

// As Python prints it: an exact tie goes to the even digit.
function fixed(number, places) {
  const exact = Math.abs(number).toFixed(100);
  const cut = exact.length - 100 + places;
  const tie = /^50*$/.test(exact.slice(cut)) && Number(exact[cut - 1]) % 2 === 0;
  return (number < 0 ? "-" : "") + (tie ? exact.slice(0, cut) : Math.abs(number).toFixed(places));
}

function figures(block, part, words) {
  const rows = [...block.querySelectorAll("dl > div")];
  const values = part.kind === "difference" ? [] : [
    fixed(part.sigmaF, 3), `${fixed(part.sigmaR, 3)} (${words.say(part.sigmaSource, { day: part.studied })})`,
  ];
  if (part.kind === "difference") for (const row of rows.splice(0, 2)) row.remove();
  const terms = [part.fillTerm, part.readingTerm, part.stepTerm, part.meterTerm].map((term) => fixed(term, 4));
  values.push(`${part.fills}, ${part.readings}`, terms.join(" + "), `${fixed(part.u, 3)}, ${fixed(part.U, 3)}`);
  if (part.verdict) {
    const at = part.position;
    const rule = part.rule.kind === "guarded" ? words.say("guarded", { c: fixed(part.rule.confidence, 2) }) : words.say("simple");
    values.push(at === null ? "–" : `${at < 0 ? "" : "+"}${fixed(at, 2)}`, fixed(part.chance, 4), rule);
  }
  rows.forEach((row, index) => {
    if (values[index] === undefined) row.remove();
    else row.querySelector("dd").textContent = values[index];
  });
}
