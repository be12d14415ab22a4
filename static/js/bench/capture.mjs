// The capture page: one form, shown step by step, computing as readings come in. Everything typed is kept on the
// tablet; what is stored is what the server made of the same form.
import Draft from "./draft.mjs";
import Pad from "./pad.mjs";
import Readings from "./readings.mjs";
import Steps from "./steps.mjs";

export default class Capture {
  constructor(form) {
    this.form = form;
    this.kit = JSON.parse(form.dataset.kit);
    this.readings = new Readings(form, this.kit);
    this.pad = new Pad(form, this.readings, this.kit);
    this.steps = new Steps(form, () => this.readings.begin());
    this.draft = new Draft(form, form.dataset.draft, form.dataset.stored.split(" "));
    form.addEventListener("submit", () => this.stamp());
    form.querySelector("[data-meter]")?.addEventListener("change", (event) => this.changeMeter(event.target.value));
    this.start().catch(() => document.documentElement.classList.add("scripts-failed"));
  }

  async start() {
    const fresh = this.form.dataset.wrong === "0";
    if (fresh) await this.draft.restore((fields) => this.readings.makeRoom(fields));
    this.readings.update();
    this.steps.start(!fresh || this.readings.hasAny());
    this.draft.watch();
    this.form.classList.add("guided");
  }

  // When it was read, by this tablet's clock; the server keeps its own time beside it.
  stamp() {
    this.form.elements.made_at.value = new Date().toISOString();
  }

  // Another meter may have another scale: the page is made anew for it, the draft brings back what was typed.
  async changeMeter(id) {
    await this.draft.save();
    const url = new URL(location.href);
    url.searchParams.set("meter", id);
    location.replace(url);
  }
}
