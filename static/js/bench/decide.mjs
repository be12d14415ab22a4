// A decision about a batch, or a countersignature (data-record): kept on the tablet and sent like everything else.
import { ask } from "../offline/ask.mjs";
import Draft from "./draft.mjs";
import Send from "./send.mjs";

// Longer than this nobody is kept waiting before the decision is on the tablet's disk.
const PATIENCE_MS = 1500;

export default class Decide {
  constructor(form) {
    const { batch, about, record = "decision" } = form.dataset;
    const what = form.elements.what?.value;
    const typed = form.elements.reason && form.elements.reason.type !== "hidden";
    const draft = typed ? new Draft(form, `${batch}/${what}`, { changed: true }) : null;
    this.send = new Send(form, {
      record: () => ({ kind: record, batch_id: batch, about }),
      next: () => `/batches/${batch}/result`,
      doubt: async () => record === "decision" && this.overtaken(form, batch),
      open: () => (typed && !form.elements.reason.value.trim() ? form.elements.reason : null),
      draft,
    });
    draft?.kept().then((kept) => {
      const seen = form.elements.seen?.value;
      if (kept && !form.querySelector(".problems")) draft.restore(kept);
      // What was typed comes back; what stands is what this page shows.
      if (form.elements.seen) form.elements.seen.value = seen;
      draft.watch();
    });
  }

  // Whether the server, if it is there, has a decision that this page has not shown: its own page asks then.
  async overtaken(form, batch) {
    const { status, body } = await ask(`/decisions/newest/${batch}`, {}, PATIENCE_MS);
    return status === 200 && body.newest !== form.elements.seen.value;
  }
}
