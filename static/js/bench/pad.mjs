// The on-screen number pad. A reading is complete when it has the scale's decimals: the next row is then at hand,
// so 56.2 takes four taps, or three with the automatic point.
import { stepDecimals } from "../measure/numbers.mjs";

const KEEP = "drumside.keyboard";

export default class Pad {
  constructor(form, readings, kit) {
    this.form = form;
    this.readings = readings;
    this.decimals = stepDecimals(kit.scale.step);
    this.wholeDigits = form.dataset.autoPoint === "1" ? kit.wholeDigits : null;
    this.box = form.querySelector("[data-pad]");
    this.toggle = form.querySelector("[data-keyboard]");
    this.keyboardText = this.toggle.textContent;
    form.querySelector("[data-pad-tools]").hidden = false;
    this.toggle.addEventListener("click", () => {
      this.use(!this.box.hidden);
      (readings.now ?? readings.nextRow())?.input.focus();
    });
    form.querySelector("[data-new-fill]").addEventListener("click", () => readings.newFill());
    // The reading keeps the focus while keys are tapped.
    this.box.addEventListener("pointerdown", (event) => event.preventDefault());
    this.box.addEventListener("click", (event) => this.key(event.target.closest("[data-key]")?.dataset.key));
    form.addEventListener("keydown", (event) => this.enter(event));
    form.addEventListener("focusin", (event) => this.meet(event.target));
    this.use(localStorage.getItem(KEEP) === "1");
  }

  // keyboard: the system's keyboard is wanted, the pad goes.
  use(keyboard) {
    this.box.hidden = keyboard;
    this.toggle.textContent = keyboard ? this.toggle.dataset.showPad : this.keyboardText;
    for (const input of this.form.querySelectorAll("[data-row] input[type=text]")) {
      input.inputMode = keyboard ? "decimal" : "none";
    }
    localStorage.setItem(KEEP, keyboard ? "1" : "0");
  }

  // A full reading that is tapped again is about to be typed anew.
  meet(target) {
    const row = target.closest("[data-row]");
    this.fresh = row && target.matches("input[type=text]") ? this.complete(target.value) : false;
  }

  complete(text) {
    const [before, after] = text.split(/[.,]/);
    if (this.decimals === 0) return this.wholeDigits !== null && before.length >= this.wholeDigits;
    return after !== undefined && after.length >= this.decimals;
  }

  key(key) {
    if (!key) return;
    const row = this.readings.now && !this.readings.now.element.hidden ? this.readings.now : this.readings.nextRow();
    if (!row) return;
    if (key === "next") return this.readings.advance();
    // After a reload no reading has the focus: without it each tap would look for an empty row of its own.
    if (row !== this.readings.now) row.input.focus({ preventScroll: true });
    const { input } = row;
    const before = this.fresh && key !== "back" ? "" : input.value;
    this.fresh = false;
    row.type(key === "back" ? before.slice(0, -1) : this.added(before, key));
    // A question about a reading stays in its row; the next reading goes into the next row all the same.
    if (key !== "back" && this.complete(input.value) && row.value !== null) this.readings.advance();
  }

  added(before, key) {
    if (key === ".") return /[.,]/.test(before) ? before : `${before || "0"}.`;
    // A number with all its decimals is finished: what is typed after it is another one.
    if (this.complete(before)) return before;
    const text = before + key;
    const whole = this.decimals > 0 && /^\d+$/.test(text) && text.length === this.wholeDigits;
    return whole ? `${text}.` : text;
  }

  // Enter goes to the next reading; it never sends a half-filled form.
  enter(event) {
    if (event.key !== "Enter" || !event.target.matches("[data-row] input[type=text]")) return;
    event.preventDefault();
    if (!this.readings.advance()) this.form.querySelector("[data-readings] .actions .primary").focus();
  }
}
