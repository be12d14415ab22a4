// The PIN form with an on-screen pad. First who (large buttons), then six digits; the sixth sends the form.
// Without this script the same form is a list of people and a password field.
export default class PinPad {
  constructor(form) {
    this.form = form;
    this.input = form.elements.pin;
    this.words = { left: form.dataset.left, free: form.dataset.free, empty: form.dataset.empty };
    this.sent = false;
    this.part("pad").hidden = false;
    this.part("send").hidden = true;
    this.listen();
    if (this.part("people")) this.startWithPeople();
    this.waitFor(Number(form.dataset.wait));
    // Digits typed while the page was still loading count: the button that would send them is gone now.
    if (this.atPin() && this.input.value) this.type(this.input.value);
    // Nobody is signed in: this tablet's other tabs are to know. It holds up nothing.
    if (!document.body.dataset.person) import("../offline/claims.mjs").then(({ nobody }) => nobody()).catch(console.warn);
  }

  part(name) {
    return this.form.querySelector(`[data-part="${name}"]`);
  }

  listen() {
    this.part("pad").addEventListener("click", (event) => {
      const key = event.target.closest("button");
      if (!key) return;
      if (key.dataset.digit) this.type(this.input.value + key.dataset.digit);
      else this.type(key.dataset.part === "clear" ? "" : this.input.value.slice(0, -1));
    });
    this.input.addEventListener("input", () => this.type(this.input.value));
    document.addEventListener("keydown", (event) => this.key(event));
    this.form.addEventListener("submit", (event) => {
      if (this.sent) event.preventDefault();
      this.sent = true;
    });
    // Back from the next page: an empty field that can be sent again, whatever the browser has kept.
    window.addEventListener("pageshow", (event) => {
      if (!event.persisted) return;
      this.sent = false;
      this.type("");
    });
  }

  // A keyboard on the stand types into the PIN wherever the focus is, except in another field.
  key(event) {
    if (!this.atPin() || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest?.("input, select, textarea")) return;
    if (/^[0-9]$/.test(event.key)) this.type(this.input.value + event.key);
    else if (event.key === "Backspace") this.type(this.input.value.slice(0, -1));
  }

  atPin() {
    return !this.part("people") || this.form.classList.contains("at-pin");
  }

  type(text) {
    if (this.waiting || this.sent) return;
    this.input.value = text.replace(/\D/g, "").slice(0, 6);
    const typed = this.input.value.length;
    this.say(typed ? this.words.left.replace("{typed}", typed) : this.words.empty);
    if (typed === 6) this.form.requestSubmit();
  }

  say(text, wrong = false) {
    const said = this.part("said");
    said.textContent = text;
    said.className = wrong ? "error" : "hint";
  }

  startWithPeople() {
    const chosen = () => this.form.querySelector("input[name=person]:checked");
    const onward = this.part("onward");
    // Arrow keys click a radio button too: they only choose. A finger on a name goes on.
    let finger = false;
    this.part("people").addEventListener("pointerdown", () => (finger = true));
    this.part("people").addEventListener("keydown", () => (finger = false));
    this.part("people").addEventListener("click", (event) => {
      const byHand = finger && event.target.closest("label");
      // After the click has chosen, not before.
      setTimeout(() => {
        onward.hidden = !chosen();
        if (byHand && chosen()) this.toPin(chosen());
      });
    });
    this.part("people").addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || !chosen()) return;
      event.preventDefault();
      this.toPin(chosen());
    });
    onward.querySelector("button").addEventListener("click", () => this.toPin(chosen()));
    this.title = this.part("title");
    this.question = this.title.textContent;
    this.title.tabIndex = -1;
    this.part("other").hidden = this.form.querySelectorAll("input[name=person]").length < 2;
    this.part("other").addEventListener("click", () => this.toPeople());
    const already = chosen();
    this.part("pin").hidden = true;
    if (already) this.toPin(already, true);
  }

  toPin(radio, keepWords = false) {
    this.form.classList.add("at-pin");
    this.part("people").hidden = true;
    this.part("pin").hidden = false;
    this.title.textContent = radio.dataset.name;
    if (keepWords) return;
    this.endWait();
    this.type("");
    // Not the field: on a tablet that would raise the system's keyboard over the pad.
    this.title.focus({ preventScroll: true });
  }

  toPeople() {
    this.form.classList.remove("at-pin");
    this.part("people").hidden = false;
    this.part("pin").hidden = true;
    this.title.textContent = this.question;
    this.form.querySelector("input[name=person]:checked").focus();
  }

  // While there is a wait the pad is off: a right PIN would be refused as well.
  waitFor(seconds) {
    if (!seconds) return;
    this.waiting = setTimeout(() => {
      this.endWait();
      this.say(this.words.free);
    }, seconds * 1000);
    this.enable(false);
  }

  endWait() {
    clearTimeout(this.waiting);
    this.waiting = null;
    this.enable(true);
  }

  enable(on) {
    this.input.disabled = !on;
    for (const key of this.part("pad").querySelectorAll("button")) key.disabled = !on;
  }
}
