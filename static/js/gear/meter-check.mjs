// A meter's check: one form, shown step by step, that says at once whether the plate reads within its tolerance, and
// asks about what looks like coffee. Kept and sent like a sample.
import RecordForm from "../bench/record-form.mjs";
import Steps from "../bench/steps.mjs";
import { parseReading, showValue } from "../measure/numbers.mjs";
import { get, put } from "../offline/store.mjs";

// As webapp/gear/check_forms.py has it.
const FAR_TOLERANCES = 5;
const FINE = 0.01;
const OFF = "off";

const plain = (text) => text.replace(/\s+/g, "").toLowerCase();

export default class MeterCheck extends RecordForm {
  constructor(form) {
    super(form);
    const make = this.send.record;
    this.send.record = (fields) => {
      this.keep().catch(console.warn);
      return make(fields);
    };
  }

  // The bench goes by this check at once, whether or not the server has it yet (offline/meter-state.mjs).
  async keep() {
    const { adjusted, made_at: at, meter } = this.form.elements;
    const proven = this.passed[adjusted.checked ? "left" : "found"];
    const own = (await get("here", "checks")) ?? {};
    const name = document.body.dataset.name ?? "";
    await put("here", "checks", { ...own, [meter.value]: { made_at: at.value, name, proven } });
  }

  async start() {
    const { form } = this;
    const facts = form.dataset;
    for (const name of ["assigned", "tolerance", "lower", "upper", "stepSize", "lighter"]) this[name] = Number(facts[name]);
    this.inputs = [...form.querySelectorAll("[data-stage]")];
    await super.start();
    form.addEventListener("input", () => this.update());
    form.addEventListener("change", () => this.update());
    this.update();
    form.classList.add("guided");
    this.steps = new Steps(form, () => this.inputs.find((input) => !input.value)?.focus());
    this.steps.start(facts.wrong === "1" || this.inputs.some((input) => input.value));
  }

  // The value of a field in hundredths, null while it is empty, NaN where it is none.
  read(input) {
    const { lower, upper, stepSize } = this;
    if (!input.value.trim()) return null;
    try {
      return parseReading(input.value, lower, upper, stepSize);
    } catch {
      return Number.NaN;
    }
  }

  update() {
    const { form } = this;
    const { adjusted, plate_typed: typed } = form.elements;
    form.querySelector("[data-left]").hidden = !adjusted.checked;
    const other = form.querySelector("[data-other-plate]");
    other.hidden = !typed.value.trim() || this.rightPlate();
    other.textContent = this.say("plate", "plate", form.dataset.plate);
    for (const input of this.inputs) this.ask(input);
    this.sum("found");
    this.sum("left");
  }

  rightPlate() {
    return plain(this.form.elements.plate_typed.value) === plain(this.form.dataset.plate);
  }

  far(value) {
    return Math.abs(value / 100 - this.assigned) > FAR_TOLERANCES * this.tolerance + 1e-9;
  }

  ask(input) {
    const value = this.read(input);
    const row = input.closest("[data-row]");
    const sure = row.querySelector("[data-sure]");
    const far = value !== null && this.far(value);
    const none = Number.isNaN(value);
    row.querySelector("[data-ask]").hidden = !far && !none;
    sure.hidden = !far;
    const asked = far ? this.say("far", "value", showValue(this.assigned, this.stepSize)) : "";
    row.querySelector("[data-message]").textContent = none ? this.say(OFF) : asked;
    input.toggleAttribute("aria-invalid", none);
    if (!far) sure.querySelector("input").checked = false;
  }

  sum(stage) {
    const values = this.inputs.filter((input) => input.dataset.stage === stage).map((input) => this.read(input));
    const good = values.filter((value) => value !== null && !Number.isNaN(value));
    const said = this.form.querySelector(`[data-said="${stage}"]`);
    said.hidden = !good.length;
    if (!good.length) return;
    // In hundredths times their number: whole numbers, so that a mean on the tolerance itself has passed.
    const off = good.reduce((sum, value) => sum + value, 0) - good.length * Math.round(this.assigned * 100);
    const mean = off / good.length / 100;
    const passed = Math.abs(off) <= good.length * Math.round(this.tolerance * 100);
    this.passed = { ...this.passed, [stage]: passed };
    const far = showValue(Math.abs(mean), FINE);
    const where = mean === 0 ? this.say("on") : this.say(mean * this.lighter > 0 ? "lighter" : "darker", "far", far);
    const tolerance = showValue(this.tolerance, FINE);
    const word = said.querySelector("[data-word]");
    said.querySelector("[data-figure]").textContent = showValue(this.assigned + mean, FINE);
    word.textContent = `${where}, ${this.say(passed ? "passed" : "failed", "tolerance", tolerance)}`;
    word.className = `word ${passed ? "inside" : "outside"}`;
  }

  say(name, key, value) {
    const text = this.form.dataset[`text${name[0].toUpperCase()}${name.slice(1)}`];
    return key ? text.replace(`{${key}}`, value) : text;
  }

  // The field that keeps it from being finished: a step, the plate, a reading that is missing, is none, or is asked about.
  open() {
    const { form } = this;
    const step = this.steps.missing();
    if (step) return step;
    if (!this.rightPlate()) {
      this.steps.open(2);
      return form.elements.plate_typed;
    }
    const wanted = this.inputs.filter((input) => input.dataset.stage === "found" || form.elements.adjusted.checked);
    for (const input of wanted) {
      const value = this.read(input);
      if (value === null || Number.isNaN(value)) return input;
      const sure = input.closest("[data-row]").querySelector("[data-sure] input");
      if (this.far(value) && !sure.checked) return sure;
    }
    return null;
  }
}
