// A small form that makes one record (data-record: its kind): kept on the tablet while it is typed, put into the outbox
// when it is finished, and sent like a sample. data-next: the address after it; data-about: what the outbox calls it;
// data-draft: the name under which it is kept; data-needed on a field: not finished without it; data-planned: the
// readings that a fill of a compared coffee asks for.
import { unread } from "../studies/unread.mjs";
import Draft from "./draft.mjs";
import Send from "./send.mjs";

export default class RecordForm {
  constructor(form) {
    this.form = form;
    const { record, next, about, draft } = form.dataset;
    this.draft = new Draft(form, draft, { changed: true });
    this.send = new Send(form, {
      // Where the form is opened again if somebody has to look at it: see offline/outbox-page.mjs.
      record: () => ({ kind: record, about, page: location.pathname + location.search, draft }),
      next: () => next,
      open: () => this.open(),
      draft: this.draft,
    });
    form.addEventListener("submit", () => this.stamp(), { capture: true });
    this.start().catch(console.warn);
  }

  async start() {
    const kept = this.form.querySelector(".problems") ? null : await this.draft.kept();
    if (kept) this.draft.restore(kept);
    this.draft.watch();
  }

  // When it was made, by this tablet's clock; the server keeps its own time beside it.
  stamp() {
    const field = this.form.elements.made_at;
    if (field) field.value = new Date().toISOString();
  }

  // The first field that it is not finished without: one that is empty, or a choice of which nothing is chosen.
  open() {
    if (this.form.dataset.planned) return unread(this.form);
    const wanted = [...this.form.querySelectorAll("[data-needed], fieldset.choices")];
    const found = wanted.find((one) => (one.matches("fieldset") ? !one.querySelector("input:checked") : !one.value.trim()));
    return found?.querySelector("input") ?? found ?? null;
  }
}
