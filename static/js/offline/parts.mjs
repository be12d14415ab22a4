// What the pages of the shell are made of: their copies, their sentences, the times at the site.
// The pages that the shell carries (templates/sync/shell.html), to be filled, with their title and their place.
export class Pages {
  constructor(root = document) {
    this.root = root;
  }

  content(name) {
    return this.root.querySelector(`template[data-page="${name}"]`).content;
  }

  fragment(name) {
    return this.content(name).cloneNode(true);
  }

  // One element of a page.
  part(name, selector) {
    return this.content(name).querySelector(selector).cloneNode(true);
  }

  // {title, where, main}: what an online page has of its own. Not a copy: each is shown once at most, and a form's fields
  // take the browser long to make.
  page(name) {
    const page = this.content(name);
    const part = (which) => page.querySelector(`[data-${which}]`);
    return { title: part("title")?.textContent ?? "", where: part("where"), main: part("main") ?? page };
  }
}

// As many copies of the pattern as there are values, in its place; none takes it away.
export function repeat(pattern, values, fill) {
  const made = [...values].map((value, index) => {
    const copy = pattern.cloneNode(true);
    fill(copy, value, index);
    return copy;
  });
  pattern.replaceWith(...made);
  return made;
}

// Text into an element, or the element away where there is none.
export function textOr(element, text) {
  if (text) element.textContent = text;
  else element.remove();
}

// The way back to the batch, in the page's head.
export function place(page, batch, product) {
  const chip = page.where.querySelector("a");
  chip.href = `/batches/${batch.id}/result`;
  chip.firstElementChild.textContent = `${product.name} · ${batch.code}`;
}

const NAMES = ["id", "name", "for", "aria-describedby", "aria-labelledby"];

// Other numbers in the names by which a form's fields find each other: steps-0- becomes steps-3-.
export function renumber(element, from, to) {
  for (const node of [element, ...element.querySelectorAll(NAMES.map((name) => `[${name}]`).join(","))]) {
    for (const name of NAMES) {
      const value = node.getAttribute(name);
      if (value) node.setAttribute(name, value.replaceAll(from, to));
    }
  }
}

// Completes the sentences of webapp/shell/words.py: %(name)s becomes the value.
const fill = (text, values) => text.replace(/%\((\w+)\)[sd]/g, (_all, name) => values[name]);

export class Sentences {
  constructor(texts) {
    this.texts = texts;
    this.lang = document.documentElement.lang || "en";
    this.mark = this.lang.startsWith("de") ? "," : ".";
  }

  say(key, values = {}) {
    return fill(this.texts[key], values);
  }

  // A sentence that counts.
  count(key, num, values = {}) {
    const [one, many] = this.texts[key];
    // Made only now: the browser takes its time over it, and a form does not need it.
    this.rules ??= new Intl.PluralRules(this.lang);
    return fill(this.rules.select(num) === "one" ? one : many, { num, ...values });
  }
}

// Times at the site, whatever the tablet's own zone is.
const SHOWN = { hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit" };
const formats = new Map();

// 2026-05-14T07:42
function atSite(moment, zone) {
  // In a tenth of a second less than the other way, which older browsers need for the first of them.
  if (globalThis.Temporal) {
    const at = Temporal.Instant.fromEpochMilliseconds(moment.getTime()).toZonedDateTimeISO(zone);
    return at.toPlainDateTime().toString({ smallestUnit: "minute" });
  }
  if (!formats.has(zone)) formats.set(zone, new Intl.DateTimeFormat("en-GB", { ...SHOWN, timeZone: zone }));
  const found = formats.get(zone).formatToParts(moment).map(({ type, value }) => [type, value]);
  const { year, month, day: date, hour, minute } = Object.fromEntries(found);
  return `${year.padStart(4, "0")}-${month}-${date}T${hour}:${minute}`;
}

// 2026-05-14
export const day = (moment, zone) => atSite(moment, zone).slice(0, -6);

// 07:42
export const clock = (moment, zone) => atSite(moment, zone).slice(-5);

// The moment of a day and a clock time at the site; null if they are none. A time that a clock change skips is taken
// as if it had not yet been changed, one that comes twice as the first.
export function moment(dayText, clockText, zone) {
  const guess = Date.parse(`${dayText}T${clockText.slice(0, 5)}:00Z`);
  if (Number.isNaN(guess)) return null;
  const shown = (at) => Date.parse(`${day(new Date(at), zone)}T${clock(new Date(at), zone)}:00Z`);
  const offsets = [guess - 86_400_000, guess + 86_400_000].map((at) => shown(at) - at);
  const fits = offsets.map((offset) => guess - offset).find((at) => shown(at) === guess);
  return new Date(fits ?? guess - offsets[0]);
}
