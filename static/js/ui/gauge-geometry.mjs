// The twin of webapp/ui/gauge.py: where everything of one band goes on the axis. Lighter is always to the right.
// Numbers in scale units, null for none. tests/browser/test_gauge_twin.py holds both to the same.
import { showGiveOrTake, showValue } from "../measure/numbers.mjs";

const FAR = 0.75;
const BAND_SHARE = 0.4;
const PINNED = 12;
const SAME = 1e-9;

// To one decimal; a tie goes to the even one, as in Python.
const tenths = (x) => {
  if (!Number.isInteger(4 * x) || Number.isInteger(2 * x)) return Number(x.toFixed(1));
  const below = Math.floor(10 * x);
  return (below + Math.abs(below % 2)) / 10;
};

export function axisRange({ value, U, lower, centre, upper, step, scale }) {
  if (lower === null && upper === null) return withoutBand(value, U, step, scale);
  let [low, high] = [0, 0];
  if (lower !== null && upper !== null) {
    const room = ((upper - lower) * (1 / BAND_SHARE - 1)) / 2;
    [low, high] = [lower - room, upper + room];
  } else {
    const limit = lower === null ? upper : lower;
    const reach = centre !== null ? Math.abs(limit - centre) : Math.max(20 * step, 3 * (U ?? 0));
    const inward = lower === null ? -1 : 1;
    [low, high] = [limit - inward * 1.5 * reach, limit + inward * 2.5 * reach].sort((a, b) => a - b);
  }
  if (value === null) return [low, high];
  const [span, slack] = [high - low, Math.max(U ?? 0, 2 * step)];
  if (low - FAR * span <= value && value <= high + FAR * span) {
    [low, high] = [Math.min(low, value - slack), Math.max(high, value + slack)];
  }
  return [low, high];
}

function withoutBand(value, U, step, scale) {
  if (value === null) return scale ?? [0, 100 * step];
  const reach = Math.max(30 * step, 3 * (U ?? 0));
  return [value - reach, value + reach];
}

function tickStep(low, high, step, width, char, mark) {
  for (let exponent = Math.floor(Math.log10(step) + SAME); ; exponent++) {
    for (const digit of [1, 2, 5]) {
      const size = Number(`${digit}e${exponent}`);
      if (size < step * (1 - SAME)) continue;
      const longest = Math.max(...[low, high].map((edge) => showValue(edge, size, mark).length));
      if ((size / (high - low)) * width >= longest * char + 14) return size;
    }
  }
}

function ticks(low, high, step, width, char, place, mark) {
  const size = tickStep(low, high, step, width, char, mark);
  const half = size / 2;
  const fine = half >= step * (1 - SAME) && (half / (high - low)) * width >= 8;
  const found = [];
  for (let n = Math.ceil(low / half - SAME); n <= Math.floor(high / half + SAME); n++) {
    const numbered = n % 2 === 0;
    if (numbered || fine) found.push({ x: place(n * half), text: numbered ? showValue(n * half, size, mark) : "" });
  }
  return found;
}

const byPlace = (a, b) => a.x - b.x || (a.text < b.text ? -1 : Number(a.text > b.text));

function view(total, left, char, low, high, it, text) {
  const { value, U, lower, centre, upper, lighter, step, mark } = it;
  const width = total - 2 * left;
  const place = (number) => {
    const share = (number - low) / (high - low);
    return tenths(left + Math.min(1, Math.max(0, lighter > 0 ? share : 1 - share)) * width);
  };
  const rails = [lower, upper].filter((l) => l !== null).map((l) => ({ x: place(l), text: text(l) })).sort(byPlace);
  let wash = null;
  if (rails.length) {
    const edges = [lower ?? low, upper ?? high].map(place).sort((a, b) => a - b);
    wash = [edges[0], tenths(edges[1] - edges[0])];
  }
  let arrow = "";
  if (value !== null && !(low <= value && value <= high)) arrow = value > high === lighter > 0 ? "right" : "left";
  const spots = { "": value === null ? null : place(value), left: left + PINNED, right: left + width - PINNED };
  const clear = 7 * char + 8;
  return {
    total, left, width, rails, wash, arrow,
    ticks: ticks(low, high, step, width, char, place, mark),
    target: centre === null ? null : place(centre),
    mark: spots[arrow],
    whisker: value !== null && U ? [place(value - U), place(value + U)].sort((a, b) => a - b) : null,
    ends: rails.every(({ x, text: printed }) => {
      const part = (printed.length * char) / 2;
      return left + clear <= x - part && x + part <= total - left - clear;
    }),
  };
}

const NONE = { value: null, U: null, lower: null, centre: null, upper: null, scale: null, shade: "", verdict: "" };

// it: kind, value, U, lower, centre, upper, step, lighter (+1 or -1), shade, verdict, scale, mark (point or comma).
export function makeGauge(options) {
  const it = { ...NONE, mark: ".", ...options };
  const { kind, U, lighter, step, mark } = it;
  if (lighter !== 1 && lighter !== -1) throw new RangeError(`lighter: ${lighter}`);
  const text = (number) => (number === null ? "" : showValue(number, step, mark));
  const [low, high] = axisRange(it);
  return {
    kind, low, high, lighter, step, shade: it.shade, verdict: it.verdict, scale: it.scale,
    value: text(it.value),
    giveOrTake: U === null ? "" : showGiveOrTake(U, step, mark),
    lower: text(it.lower), centre: text(it.centre), upper: text(it.upper),
    wide: view(640, 30, 10.5, low, high, it, text),
    narrow: view(358, 20, 9.5, low, high, it, text),
  };
}

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
