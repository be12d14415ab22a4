// The readings of up to four fills: what counts, whether they agree, and where the sample stands, after every reading.
// Not from measure/index.mjs: a capture loads only what it needs.
import { parseReading, showGiveOrTake, showValue, stepDecimals } from "../measure/numbers.mjs";
import { farFromFellows, farFromHistory, fillValue, fillsToSettle, judge, sampleResult } from "../measure/sample.mjs";
import { moveGauge } from "../ui/gauge.mjs";

const MOST_FILLS = 4;
// The same words again would be laid out again.
const put = (node, text) => node.textContent === text || (node.textContent = text);
const say = (template, values) => template.replace(/\{(\w+)\}/g, (_all, name) => values[name]);

export default class Readings {
  constructor(form, kit) {
    this.form = form;
    this.kit = this.own = kit;
    this.live = form.querySelector("[data-live]");
    this.words = this.live.dataset;
    this.gauge = form.querySelector(".gauge");
    this.figure = form.querySelector("[data-figure]");
    this.summary = form.querySelector("[data-summary]");
    this.standing = form.querySelector("[data-standing]");
    this.live.hidden = false;
    this.fills = [...form.querySelectorAll("[data-fill]")].map((element) => new Fill(element, this));
    this.mark = document.documentElement.lang.startsWith("de") ? "," : ".";
    form.addEventListener("input", (event) => event.target.closest("[data-row]") && this.update());
    form.addEventListener("change", (event) => event.target.closest("[data-row], [data-setting]") && this.update());
    form.addEventListener("focusout", (event) => event.target.closest("[data-row]") && setTimeout(() => this.update()));
    form.addEventListener("focusin", (event) => this.setNow(event.target.closest("[data-row]")));
  }

  number(value) {
    return showValue(value, this.kit.scale.step, this.mark);
  }

  hasAny() {
    return this.fills.some((fill) => fill.rows.some((row) => row.text));
  }

  // The reading that is to be typed next; null when all that are asked for are there.
  nextRow() {
    for (const fill of this.fills.filter((f) => f.used)) {
      const row = fill.rows.find((r) => !r.element.hidden && !r.text);
      if (row) return row;
    }
    return null;
  }

  setNow(element) {
    if (!element) return;
    for (const fill of this.fills) {
      for (const row of fill.rows) {
        if (row.element === element) this.now = row;
        row.element.classList.toggle("now", row.element === element);
      }
    }
  }

  begin() {
    this.update();
    // A summary of what is wrong has the focus, whichever script comes first.
    if (this.form.querySelector(".problems")) return;
    (this.nextRow() ?? this.now)?.input.focus({ preventScroll: true });
  }

  advance() {
    const row = this.nextRow();
    if (row) {
      row.input.focus({ preventScroll: true });
      row.element.scrollIntoView({ block: "nearest" });
    } else this.now?.element.classList.remove("now");
    return row;
  }

  newFill() {
    const fill = this.fills.find((f) => !f.used) ?? this.anotherFill();
    if (!fill) return;
    fill.use();
    this.update();
    fill.rows[0].input.focus({ preventScroll: true });
    this.fold();
    fill.rows[0].element.scrollIntoView({ block: "center" });
  }

  // Rows for everything that a draft has, also in fills that the page did not come with.
  makeRoom(fields) {
    const used = Object.keys(fields).filter((name) => /^fills-\d-readings-\d+-value$/.test(name) && fields[name].trim());
    const last = Math.max(-1, ...used.map((name) => Number(name[6])));
    while (this.fills.length <= last && this.anotherFill());
  }

  // What still keeps the sample from being finished: a field to look at, or null. The ticks that let it go all the
  // same ("fewer readings", "none can be taken") count when they are set.
  open() {
    this.final = true;
    this.update();
    this.final = false;
    const rows = this.fills.flatMap((fill) => fill.rows);
    const wrong = rows.find((row) => row.text && (row.element.classList.contains("wrong") || (row.value === null && !row.struck)));
    if (wrong) return wrong.sure.hidden ? wrong.input : wrong.sureTick;
    if (!rows.some((row) => row.value !== null)) return this.nextRow()?.input ?? rows[0].input;
    const { fewer, no_more: noMore } = this.form.elements;
    const { planned } = this.kit;
    const short = this.fills.some((fill) => fill.found && fill.found.n < planned);
    if (short && !fewer?.checked) return fewer ?? this.nextRow().input;
    const more = this.fills.some((fill) => fill.found?.state === "more" && fill.found.n >= planned);
    if (more && !noMore?.checked) return noMore ?? this.nextRow().input;
    return null;
  }

  // The form has room for one fill more than is used; a further one is made after its pattern, up to four.
  anotherFill() {
    const number = this.fills.length;
    if (number >= MOST_FILLS) return null;
    const box = this.fills[number - 1].box;
    const copy = box.cloneNode(true);
    for (const element of copy.querySelectorAll("[id], [name], [for], [aria-describedby]")) {
      for (const name of ["id", "name", "for", "aria-describedby"]) {
        const value = element.getAttribute(name);
        if (value) element.setAttribute(name, value.replace(`fills-${number - 1}-`, `fills-${number}-`));
      }
    }
    for (const input of copy.querySelectorAll("input")) {
      if (input.type === "checkbox") input.checked = false;
      else input.value = "";
    }
    for (const title of copy.querySelectorAll("summary, legend")) {
      title.firstChild.textContent = title.firstChild.textContent.replace(String(number), String(number + 1));
    }
    const element = copy.querySelector("[data-fill]");
    element.dataset.fill = number + 1;
    element.removeAttribute("data-used");
    box.after(copy);
    const fill = new Fill(element, this);
    this.fills.push(fill);
    return fill;
  }

  update() {
    // The first setting is the method's; at another nothing is judged.
    const off = this.form.elements.setting?.selectedIndex > 0;
    const kit = (this.kit = off ? { ...this.own, band: null, history: { n: 0 } } : this.own);
    const values = this.fills.filter((fill) => fill.used).map((fill) => fill.update(kit)).filter(Boolean);
    if (!values.length) return this.showNothing();
    const last = values[values.length - 1];
    const result = sampleResult(values, kit.sigmas, kit.scale.step, kit.uMeter);
    this.fold();
    put(this.figure, this.number(result.value));
    this.summary.replaceChildren(...this.sentence(values, last, result));
    this.stand(result, last);
  }

  // Fills that are done shrink to a line, so that the one in hand and the pad are both in view.
  fold() {
    const hand = this.fills.find((fill) => fill.rows.includes(this.now)) ?? this.fills[0];
    for (const fill of this.fills) fill.element.classList.toggle("folded", fill !== hand);
  }

  sentence(values, last, result) {
    const w = this.words;
    const parts = [];
    if (values.length > 1) {
      parts.push(say(w.textFills, { n: values.length }));
      if (result.fillsDisagree) parts.push(w.textFillsApart);
    } else if (last.n === 1) {
      parts.push(w["textMean-1"]);
    } else {
      parts.push(say(last.how === "median" ? w.textMedian : w.textMean, { n: last.n }));
      parts.push(say(w.textRange, { r: this.number(last.range) }));
    }
    const line = [document.createTextNode(parts.join(" · "))];
    if (last.n > 1) {
      const state = { agree: w.textAgree, disagree: w.textDisagree, more: last.n < this.kit.planned ? w.textSoFar : last.more === 1 ? w.textMore : say(w["textMoreN"] ?? w["textMore-n"], { n: last.more }) }[last.state];
      const word = document.createElement("strong");
      word.className = `word ${last.state === "agree" ? "inside" : "undecided"}`;
      word.textContent = state;
      const limit = say(w.textLimit, { l: this.number(this.widest(last.limit)) });
      line.push(document.createTextNode(" · "), word, document.createTextNode(` (${limit})`));
    }
    return line;
  }

  // The widest range that still agrees, as readings can show it: rounded to the step it could look like another one.
  widest(limit) {
    const { step } = this.kit.scale;
    return Math.floor(limit / step + 1e-9) * step;
  }

  stand(result, last) {
    const { kit, words: w } = this;
    const give = `${say(w.textGive, { u: showGiveOrTake(result.U, kit.scale.step, this.mark) })}${kit.sigmas.source === "assumed" ? ` (${w.textAssumed})` : ""}`;
    let verdict = "";
    let text = give;
    if (kit.band && kit.rule) {
      const { lighter, step } = kit.scale;
      const found = judge(result.value, result.u, kit.band, kit.rule, lighter);
      verdict = found.verdict;
      const word = verdict === "outside" ? (found.side === "darker" ? w.textDarker : w.textLighter) : verdict === "inside" ? w.textInside : w.textUndecided;
      text = `${word}, ${give}`;
      if (verdict === "undecided" && last.n >= kit.planned && last.state !== "more") {
        const per = Math.max(1, Math.round(result.readings / result.fills));
        const settle = fillsToSettle(result.value, result.fills, per, kit.sigmas, step, kit.uMeter, kit.band, kit.rule, lighter);
        if (settle) text += `. ${settle - result.fills === 1 ? w.textSettle : say(w["textSettleN"] ?? w["textSettle-n"], { n: settle - result.fills })}`;
      }
    }
    this.standing.className = `word ${verdict}`;
    put(this.standing, text);
    moveGauge(this.gauge, { value: result.value, give: result.U, verdict });
  }

  showNothing() {
    this.figure.textContent = "–";
    moveGauge(this.gauge, {});
  }
}

class Fill {
  constructor(element, readings) {
    this.element = element;
    this.readings = readings;
    this.box = element.closest("details");
    this.rows = [...element.querySelectorAll("[data-row]")].map((row) => new Row(row, readings));
    if (this.box) this.box.hidden = !this.used;
  }

  get used() {
    return this.element.hasAttribute("data-used") || this.rows.some((row) => row.text);
  }

  use() {
    this.element.setAttribute("data-used", "");
    if (this.box) {
      this.box.hidden = false;
      this.box.open = true;
    }
  }

  // Reads the rows, shows as many as are needed, and gives the fill's value (null without a reading that counts).
  update(kit) {
    if (this.used) this.use();
    for (const row of this.rows) row.read(kit);
    const counted = this.rows.filter((row) => row.value !== null);
    const values = counted.map((row) => row.value);
    const found = (this.found = values.length ? fillValue(values, kit.planned, kit.sigmas.sigmaR, kit.scale.step) : null);
    const struck = this.rows.filter((row) => row.text && row.struck).length;
    const more = found && found.state === "more" && found.n >= kit.planned ? found.more : 0;
    const wanted = Math.max(kit.planned, found ? found.n + more : 0) + struck;
    for (const [index, row] of this.rows.entries()) {
      row.element.hidden = !(row.text || index < wanted);
      row.say(index, counted.length);
    }
    for (const [index, row] of counted.entries()) {
      const { mean, sd, n } = kit.history;
      row.ask(farFromFellows(values, index, kit.sigmas.sigmaR, kit.scale.step)
        || farFromHistory(row.value, mean, sd, n, kit.sigmas, kit.scale.step));
    }
    return found;
  }
}

class Row {
  constructor(element, readings) {
    this.element = element;
    this.words = readings.words;
    this.readings = readings;
    this.most = Math.trunc(readings.kit.scale.upper);
    this.input = element.querySelector("input[type=text]");
    this.void = element.querySelector("select");
    this.askBox = element.querySelector("[data-ask]");
    this.message = element.querySelector("[data-message]");
    this.sure = element.querySelector("[data-sure]");
    this.sureTick = this.sure.querySelector("input");
    this.note = element.querySelector("[data-say]");
    this.take = document.createElement("button");
    this.take.type = "button";
    this.take.className = "button quiet";
    this.take.hidden = true;
    this.take.addEventListener("click", () => this.takeSuggestion());
    for (const old of this.askBox.querySelectorAll("button")) old.remove();
    this.askBox.insertBefore(this.take, this.sure);
    this.input.addEventListener("input", () => (this.sureTick.checked = false));
  }

  get text() {
    return (this.coming ?? this.input.value).trim();
  }

  // From the pad. The field itself comes last: the browser lays the page out as soon as a field in hand changes, and so
  // only once.
  type(text) {
    this.coming = text;
    this.input.dispatchEvent(new Event("input", { bubbles: true }));
    this.coming = null;
    this.input.value = text;
  }

  get struck() {
    return this.void.value !== "";
  }

  read({ scale }) {
    this.value = null;
    this.show("", null);
    this.element.classList.toggle("struck-out", this.struck && this.text !== "");
    this.element.classList.toggle("filled", this.text !== "");
    if (!this.text || this.unfinished(scale.step)) return;
    try {
      const hundredths = parseReading(this.text, scale.lower, scale.upper, scale.step, this.sureTick.checked);
      if (!this.struck) this.value = hundredths / 100;
    } catch (problem) {
      if (!problem.code) throw problem;
      this.refuse(problem, scale);
    }
  }

  // A number that is still being typed neither counts nor is wrong: 60 on the way to 60.2.
  unfinished(step) {
    if (this.readings.final || document.activeElement !== this.input || !/^[0-9]*[.,]?[0-9]*$/.test(this.text)) return false;
    const [before, after] = this.text.split(/[.,]/);
    return stepDecimals(step) > 0 && (after ?? "").length < stepDecimals(step) && Number(before) <= this.most;
  }

  refuse(problem, scale) {
    const w = this.words;
    const texts = { off_scale: w.textOff, too_fine: say(w.textFine, { step: this.readings.number(scale.step) }) };
    const suggestion = problem.suggestionHundredths;
    this.several = problem.code === "which";
    this.show(suggestion ? w.textMeanIt : texts[problem.code] ?? w.textNumber, suggestion ? suggestion / 100 : null);
  }

  show(text, suggestion) {
    put(this.message, text);
    this.take.hidden = suggestion === null;
    if (suggestion !== null) this.take.textContent = this.readings.number(suggestion);
    this.sure.hidden = true;
    this.askBox.hidden = !text;
    this.element.classList.toggle("wrong", text !== "");
    this.input.setAttribute("aria-invalid", text !== "");
  }

  ask(far) {
    if (!far) return;
    this.askBox.hidden = false;
    this.sure.hidden = false;
    this.message.textContent = this.words.textSure;
    this.element.classList.toggle("wrong", !this.sureTick.checked);
  }

  takeSuggestion() {
    // A line stays as it came.
    const field = this.several ? this.sureTick : this.input;
    field.checked = true;
    if (!this.several) field.value = this.take.textContent;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    this.readings.advance();
  }

  say(index) {
    put(this.note, this.text ? "" : index ? this.words.textTurn : this.words.textFirst);
  }
}

