// The twin of webapp/ui/gauge.py: where everything of one band goes on the axis. Lighter is always to the right.
// Numbers in scale units, null for none. tests/browser/test_gauge_twin.py holds both to the same.
import { showGiveOrTake, showValue } from "../measure/rounding.mjs";

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
