// Practice: the same form, steps, pad and arithmetic as a sample. It keeps no draft and makes no record: it posts, as
// soon as the server is known to be there.
import { ownToken } from "../offline/claims.mjs";
import Pad from "./pad.mjs";
import Readings from "./readings.mjs";
import Steps from "./steps.mjs";

const PATIENCE_MS = 4000;

export default class Practice {
  constructor(form) {
    this.form = form;
    const kit = JSON.parse(form.dataset.kit);
    const readings = new Readings(form, kit);
    this.pad = new Pad(form, readings, kit);
    const steps = new Steps(form, () => readings.begin());
    form.addEventListener("submit", (event) => this.submit(event));
    readings.update();
    form.classList.add("guided");
    steps.start(form.dataset.wrong === "1" || readings.hasAny());
  }

  async submit(event) {
    if (this.plainly) return;
    event.preventDefault();
    // A second tap is the same tap.
    if (this.busy) return;
    this.busy = true;
    const gone = this.form.querySelector("[data-gone]");
    gone.hidden = true;
    try {
      this.form.elements.csrf_token.value = await ownToken(PATIENCE_MS);
      this.plainly = true;
    } catch {
      // What was typed stays on the screen.
      gone.hidden = false;
    }
    this.busy = false;
    if (this.plainly) this.form.requestSubmit(event.submitter);
  }
}
