// Moves, adds and removes the steps of a method on the page. Without it the same buttons ask the server.
const NUMBERED = ["id", "name", "for", "aria-describedby"];

export default class MethodSteps {
  constructor(element) {
    this.element = element;
    element.addEventListener("click", (event) => this.press(event));
    element.addEventListener("change", ({ target }) => this.choose(target));
    // What was chosen before this was loaded.
    for (const field of element.querySelectorAll("select")) this.choose(field);
  }

  get steps() {
    return [...this.element.querySelectorAll("[data-step]")];
  }

  press(event) {
    const button = event.target.closest("button[name]");
    if (!button || button.disabled) return;
    event.preventDefault();
    const step = button.closest("[data-step]");
    this[button.name](step, this.steps.indexOf(step));
  }

  up(step, index) {
    if (index > 0) this.steps[index - 1].before(step);
    this.settle(step, "up", "saidMoved");
  }

  down(step, index) {
    this.steps[index + 1]?.after(step);
    this.settle(step, "down", "saidMoved");
  }

  // What was removed leaves a way back in its place: a second tap must not take the next step too.
  remove(step, index) {
    if (this.steps.length === 1) return;
    this.way?.remove();
    this.way = document.createElement("p");
    this.way.className = "said";
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button quiet";
    button.textContent = this.element.dataset.putBack.replace("{no}", index + 1);
    button.addEventListener("click", () => this.putBack(step));
    this.way.append(button);
    step.replaceWith(this.way);
    this.renumber();
    button.focus({ preventScroll: true });
    this.say("saidRemoved", index + 1);
  }

  putBack(step) {
    this.way.replaceWith(step);
    this.settle(step, "remove", "saidMoved");
  }

  add(step) {
    if (this.steps.length >= Number(this.element.dataset.most)) return;
    const fresh = step.cloneNode(true);
    for (const field of fresh.querySelectorAll("input, textarea, select")) {
      field.value = "";
      field.removeAttribute("aria-invalid");
    }
    for (const error of fresh.querySelectorAll(".error")) error.remove();
    for (const wrong of fresh.querySelectorAll(".wrong")) wrong.classList.remove("wrong");
    fresh.querySelector("[data-preview]").replaceChildren();
    step.after(fresh);
    this.settle(fresh, null, "saidAdded");
  }

  // Number everything anew, keep the finger's button under the focus, and say what happened.
  settle(step, pressed, said) {
    this.renumber();
    const wanted = pressed && step.querySelector(`button[name=${pressed}]:not(:disabled)`);
    const target = wanted ?? step.querySelector("input");
    target.focus({ preventScroll: true });
    step.scrollIntoView({ block: "nearest" });
    this.say(said, this.steps.indexOf(step) + 1);
  }

  say(said, no) {
    const words = this.element.dataset[said].replace("{no}", no).replace("{total}", this.steps.length);
    this.element.querySelector("[data-say]").textContent = words;
  }

  renumber() {
    const { steps } = this;
    steps.forEach((each, index) => this.number(each, index, steps.length));
  }

  number(step, index, total) {
    const no = index + 1;
    const { stepWord, ofStep, most } = this.element.dataset;
    step.id = `step-${no}`;
    step.querySelector("[data-legend]").textContent = stepWord.replace("{no}", no);
    for (const name of NUMBERED) {
      for (const part of step.querySelectorAll(`[${name}]`)) {
        part.setAttribute(name, part.getAttribute(name).replace(/\bsteps-\d+-/g, `steps-${index}-`));
      }
    }
    const goes = { up: Math.max(no - 1, 1), down: no + 1, remove: Math.max(no - 1, 1), add: no + 1 };
    const stuck = { up: index === 0, down: no === total, remove: total === 1, add: total >= Number(most) };
    for (const button of step.querySelectorAll("button[name]")) {
      button.value = no;
      button.disabled = stuck[button.name];
      button.setAttribute("formaction", `${location.pathname}#step-${goes[button.name]}`);
      button.querySelector(".hidden-text").textContent = ofStep.replace("{no}", no);
    }
  }

  // Show the picture that was chosen, and what goes wrong without it, unless they stand there already.
  choose(field) {
    if (!field.name?.endsWith("-picture")) return;
    const preview = field.closest("[data-step]").querySelector("[data-preview]");
    const names = field.value ? [field.value, `${field.value}-wrong`] : [];
    const sources = names.map((name) => `${this.element.dataset.pictures}${name}.svg`);
    const shown = [...preview.children].map((image) => image.getAttribute("src"));
    if (sources.join() === shown.join()) return;
    const images = sources.map((source) => {
      const image = document.createElement("img");
      image.alt = "";
      image.width = 460;
      image.height = 420;
      image.src = source;
      return image;
    });
    preview.replaceChildren(...images);
  }
}
