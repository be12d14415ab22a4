// The method's steps, one at a time, or all on one screen as the short checklist; each tick keeps its time.
export default class Steps {
  constructor(form, onDone) {
    this.form = form;
    this.onDone = onDone;
    this.box = form.querySelector("[data-steps]");
    this.readings = form.querySelector("[data-readings]");
    this.sections = [...form.querySelectorAll("[data-step]")];
    this.marks = [...form.querySelectorAll("[data-progress] i")];
    this.at = 0;
    this.done = form.querySelector("[data-done]");
    this.switch = form.querySelector("[data-switch]");
    this.back = form.querySelector("[data-back]");
    this.done.addEventListener("click", () => this.next());
    this.back.addEventListener("click", () => this.previous());
    this.switch?.addEventListener("click", () => this.setShort(!this.short));
    for (const section of this.sections) {
      this.tick(section).addEventListener("change", (event) => this.stamp(section, event.target.checked));
      const timer = section.querySelector("[data-timer]");
      if (timer) startable(timer);
    }
    const again = form.querySelector("[data-to-steps]");
    again.hidden = false;
    again.addEventListener("click", () => this.open(this.sections.length - 1));
  }

  tick(section) {
    return section.querySelector("[data-tick] input");
  }

  stamp(section, checked) {
    section.querySelector("input[type=hidden]").value = checked ? new Date().toISOString() : "";
    if (checked && this.short) this.usedShort = true;
    this.form.elements.checklist.value = this.usedShort ? "short" : "walked";
    this.show();
    this.form.dispatchEvent(new Event("input", { bubbles: true }));
  }

  // The buttons come only now: a tap before the draft is back would be undone by it.
  start(pastSteps) {
    this.form.querySelector("[data-step-actions]").hidden = false;
    const allowed = this.form.dataset.walk !== "1";
    this.usedShort = this.form.elements.checklist.value === "short";
    // Begun by somebody who may do it the short way, gone on with by somebody who may not.
    if (this.usedShort && !allowed && this.form.dataset.wrong === "0") this.untick();
    this.form.elements.checklist.value = this.usedShort ? "short" : "walked";
    this.short = allowed && (this.usedShort || this.form.dataset.short === "1");
    const first = this.first();
    if (first === -1 || (pastSteps && allowed && this.form.dataset.wrong === "0")) return this.finish(false);
    this.open(first);
  }

  // The first step that is not ticked, or -1.
  first() {
    return this.sections.findIndex((section) => !this.tick(section).checked);
  }

  untick() {
    this.usedShort = false;
    for (const section of this.sections) {
      this.tick(section).checked = false;
      section.querySelector("input[type=hidden]").value = "";
    }
  }

  // The first step that is not ticked, opened: it keeps the sample from being finished. Null when all are.
  missing() {
    const at = this.first();
    if (at === -1) return null;
    this.open(at);
    return this.done;
  }

  open(index) {
    this.at = index;
    this.box.hidden = false;
    this.readings.hidden = true;
    this.show();
  }

  setShort(short) {
    this.short = short;
    this.show();
  }

  show() {
    this.box.classList.toggle("short", this.short);
    for (const [index, section] of this.sections.entries()) {
      section.hidden = !this.short && index !== this.at;
      const ticked = this.tick(section).checked;
      this.marks[index].className = index === this.at && !this.short ? "now" : ticked ? "done" : "";
    }
    const section = this.sections[this.at];
    this.done.textContent = this.short ? this.done.dataset.all : section.querySelector("[data-tick] span").textContent;
    this.back.hidden = this.short || this.at === 0;
    if (this.switch) this.switch.textContent = this.short ? this.switch.dataset.walk : this.switch.dataset.shortLabel;
  }

  next() {
    const now = this.short ? this.sections : [this.sections[this.at]];
    for (const section of now) {
      const tick = this.tick(section);
      if (!tick.checked) {
        tick.checked = true;
        this.stamp(section, true);
      }
    }
    if (this.short || this.at === this.sections.length - 1) return this.finish(true);
    this.at += 1;
    this.show();
    const title = this.sections[this.at].querySelector("h2");
    title.tabIndex = -1;
    title.focus({ preventScroll: true });
    scrollTo(0, 0);
  }

  previous() {
    this.at = Math.max(0, this.at - 1);
    this.show();
  }

  finish(byTap) {
    this.box.hidden = true;
    this.readings.hidden = false;
    if (byTap) scrollTo(0, 0);
    this.onDone();
  }
}

// A countdown that goes by the clock, so that a tablet that slept shows the right rest.
function startable(timer) {
  const button = timer.querySelector("[data-timer-start]");
  const figure = timer.querySelector("[role=timer]");
  button.hidden = false;
  button.addEventListener("click", () => {
    const end = Date.now() + Number(timer.dataset.timer) * 1000;
    button.hidden = true;
    const beat = setInterval(() => {
      const left = Math.max(0, Math.ceil((end - Date.now()) / 1000));
      figure.textContent = `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
      if (left) return;
      clearInterval(beat);
      timer.classList.add("over");
      button.hidden = false;
    }, 250);
  });
}
