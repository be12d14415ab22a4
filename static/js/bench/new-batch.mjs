// Shows the roast loss while the masses are typed.
import { parseDecimal, showValue } from "../measure/index.mjs";

export default class NewBatch {
  constructor(form) {
    this.form = form;
    this.line = form.querySelector("[data-loss]");
    form.addEventListener("input", () => this.update());
    this.update();
  }

  grams(name) {
    try {
      return parseDecimal(this.form.elements[name].value, 3);
    } catch {
      return null;
    }
  }

  update() {
    const [green, roasted] = [this.grams("green"), this.grams("roasted")];
    const known = green > 0 && roasted > 0 && roasted <= green;
    this.line.hidden = !known;
    if (known) this.line.querySelector("strong").textContent = `${showValue((100 * (green - roasted)) / green, 0.1)} %`;
  }
}
