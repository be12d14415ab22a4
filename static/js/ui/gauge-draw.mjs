// Fills a gauge that templates/ui/gauge.html has drawn with other numbers (ui/gauge-geometry.mjs).
export function drawGauge(element, it, words) {
  element.setAttribute("aria-label", inWords(it, words));
  if (it.scale) [element.dataset.scaleLower, element.dataset.scaleUpper] = it.scale;
  else for (const end of ["scaleLower", "scaleUpper"]) delete element.dataset[end];
  draw(element.querySelector("svg.wide"), it, it.wide);
  draw(element.querySelector("svg.slim"), it, it.narrow);
}

function inWords(it, words) {
  let text = words.say(it.kind);
  if (it.value) text += ` ${it.value}`;
  if (it.value && it.giveOrTake) text += `, ${words.say("give", { number: it.giveOrTake })}`;
  const limits = it.lower && it.upper ? words.say("band", it)
    : it.lower ? words.say("above", { number: it.lower })
    : it.upper ? words.say("below", { number: it.upper })
    : words.say("no_target");
  return `${text}. ${limits}${it.centre ? ` ${words.say("target", { number: it.centre })}` : ""}`;
}

const set = (node, values) => {
  for (const [name, value] of Object.entries(values)) node.setAttribute(name, value);
};

// As many of the pattern as there are values, in its place.
function repeat(nodes, values, fill) {
  const pattern = nodes[0];
  const made = values.map((value) => {
    const copy = pattern.cloneNode(true);
    fill(copy, value);
    return copy;
  });
  pattern.replaceWith(...made);
  for (const other of nodes.slice(1)) other.remove();
}

function draw(svg, it, v) {
  const all = (selector) => [...svg.querySelectorAll(selector)];
  const one = (selector) => svg.querySelector(selector);
  const end = v.left + v.width;
  Object.assign(svg.dataset, { low: it.low, high: it.high, lighter: it.lighter, left: v.left, width: v.width });
  if (v.wash) set(one(".wash"), { x: v.wash[0], width: v.wash[1] });
  else one(".wash").remove();
  set(one(".axis"), { d: `M${v.left} 74H${end}${v.ticks.map((t) => `M${t.x} ${t.text ? 66 : 70}V74`).join("")}` });
  repeat(all(".tick"), v.ticks.filter((t) => t.text), (node, { x, text }) => {
    set(node, { x });
    node.textContent = text;
  });
  if (v.target === null) one(".target").remove();
  else set(one(".target"), { d: `M${v.target} 28V74` });
  rails(all(".rail"), all(".limit"), v.rails);
  if (v.ends) [one(".first"), one(".last")].forEach((node, i) => set(node, { x: [v.left, end][i] }));
  else all(".end").forEach((node) => node.remove());
  set(one(".whisker"), { d: v.whisker ? `M${v.whisker[0]} 50H${v.whisker[1]}` : "" });
  const state = it.verdict || "plain";
  const at = v.mark ?? v.left + v.width / 2;
  set(one(".spot"), { class: `spot settle ${state}${v.mark === null ? " away" : ""}`, transform: `translate(${at} 50)` });
  one(".mark").classList.remove("plain", "inside", "undecided", "outside");
  one(".mark").classList.add(state);
  if (one(".mark").hasAttribute("fill")) set(one(".mark"), { fill: it.shade });
  for (const side of ["left", "right"]) one(`.beyond.${side}`).classList.toggle("away", v.arrow !== side);
}

function rails(lines, numbers, wanted) {
  for (const [index, line] of lines.entries()) {
    const rail = wanted[index];
    if (rail) {
      set(line, { d: `M${rail.x} 22V82` });
      set(numbers[index], { x: rail.x });
      numbers[index].textContent = rail.text;
    } else for (const node of [line, numbers[index]]) node.remove();
  }
}
