// Moves the mark and the whisker of a gauge (templates/ui/gauge.html) as readings come in.
const DARK = [0x24, 0x15, 0x0e];
const LIGHT = [0xc2, 0x93, 0x5e];
const PINNED = 12; // as in webapp/ui/gauge.py

// The same brown as the template filter `shade`: an illustration, it measures nothing.
export function shade(value, lower, upper, lighter) {
  let share = Math.min(1, Math.max(0, (value - lower) / (upper - lower)));
  if (lighter < 0) share = 1 - share;
  return "#" + DARK.map((d, i) => Math.round(d + (LIGHT[i] - d) * share).toString(16).padStart(2, "0")).join("");
}

// element: the .gauge. value, give: scale units or null. verdict: "", "inside", "undecided" or "outside".
// words: the new label for screen readers, if the caller has one.
export function moveGauge(element, { value = null, give = null, verdict = "", words = "" }) {
  for (const svg of element.querySelectorAll("svg")) place(svg, element, value, give, verdict);
  if (words) element.setAttribute("aria-label", words);
}

function place(svg, element, value, give, verdict) {
  const { low, high, lighter, left, width } = numbers(svg.dataset);
  const x = (at) => {
    const share = Math.min(1, Math.max(0, (at - low) / (high - low)));
    return left + (lighter > 0 ? share : 1 - share) * width;
  };
  const spot = svg.querySelector(".spot");
  const mark = svg.querySelector(".mark");
  const away = value === null;
  spot.classList.toggle("away", away);
  mark.classList.remove("plain", "inside", "undecided", "outside");
  mark.classList.add(verdict || "plain");
  const side = away || (value >= low && value <= high) ? "" : value > high === lighter > 0 ? "right" : "left";
  const pinned = { left: left + PINNED, right: left + width - PINNED };
  if (!away) spot.setAttribute("transform", `translate(${pinned[side] ?? x(value)} 50)`);
  svg.querySelector(".whisker").setAttribute("d", away || !give ? "" : whisker(x(value - give), x(value + give)));
  for (const end of ["left", "right"]) svg.querySelector(`.beyond.${end}`).classList.toggle("away", side !== end);
  const { scaleLower, scaleUpper, kind } = element.dataset;
  if (!away && scaleLower !== undefined && kind !== "difference") {
    mark.setAttribute("fill", shade(value, Number(scaleLower), Number(scaleUpper), lighter));
  }
}

function numbers(data) {
  return Object.fromEntries(["low", "high", "lighter", "left", "width"].map((name) => [name, Number(data[name])]));
}

function whisker(a, b) {
  return `M${Math.min(a, b)} 50H${Math.max(a, b)}`;
}
