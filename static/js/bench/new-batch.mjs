// The form for a new batch: shows the roast loss while the masses are typed, keeps what is typed, and sends it.
import { parseDecimal, showValue } from "../measure/numbers.mjs";
import { waiting } from "../offline/outbox.mjs";
import { get } from "../offline/store.mjs";
import Draft, { sender } from "./draft.mjs";

const NEEDED = ["product", "machine", "code", "day", "clock"];

export default class NewBatch {
  constructor(form) {
    this.form = form;
    this.line = form.querySelector("[data-loss]");
    this.first = JSON.parse(form.dataset.first || "{}");
    this.draft = new Draft(form, "new-batch", { changed: true });
    form.addEventListener("input", () => this.update());
    this.ready = this.start().catch((error) => console.warn("drumside: draft", error));
    sender(form, this.ready, {
      record: (fields) => ({ kind: "batch", about: `${this.productName()} · ${fields.code}` }),
      next: (wanted, fields) => `/batches/${fields.id}/${wanted || (fields.product in this.first ? (this.first[fields.product] ?? "result") : "whole")}`,
      open: () => this.missing(),
      doubt: () => this.hasTwin(),
      draft: this.draft,
    });
  }

  async start() {
    this.update();
    const wrong = this.form.querySelector(".problems");
    const kept = wrong ? null : await this.draft.kept();
    if (kept) {
      this.draft.restore(kept);
      for (const details of this.form.querySelectorAll("details")) {
        details.open ||= [...details.querySelectorAll("input, textarea")].some((field) => field.value);
      }
    }
    this.draft.watch();
    this.update();
  }

  missing() {
    for (const name of NEEDED) {
      const field = this.form.elements[name];
      if (!field?.value?.trim()) return field instanceof RadioNodeList ? field[0] : field;
    }
    return null;
  }

  // A code that is used already can be changed while the form is open; two tablets without a server may both use it.
  async hasTwin() {
    const [id, code] = ["id", "code"].map((name) => this.form.elements[name].value.trim());
    const others = (await get("kit", "kit"))?.batches ?? [];
    const waits = (await waiting()).filter((entry) => entry.kind === "batch").map((entry) => entry.form);
    return [...others, ...waits].some((batch) => batch.code === code && batch.id !== id);
  }

  productName() {
    return this.form.querySelector("[name=product]:checked")?.closest("label").textContent.trim() ?? "";
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
