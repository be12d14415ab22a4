// A decision about a batch, or a countersignature (data-record): kept on the tablet and sent like everything else.
import Draft from "./draft.mjs";
import Send from "./send.mjs";

export default class Decide {
  constructor(form) {
    const { batch, about, record = "decision" } = form.dataset;
    const what = form.elements.what?.value;
    const typed = form.elements.reason && form.elements.reason.type !== "hidden";
    const draft = typed ? new Draft(form, `${batch}/${what}`, { changed: true }) : null;
    this.send = new Send(form, {
      record: () => ({ kind: record, batch_id: batch, about }),
      next: () => `/batches/${batch}/result`,
      open: () => (typed && !form.elements.reason.value.trim() ? form.elements.reason : null),
      draft,
    });
    draft?.kept().then((kept) => {
      if (kept && !form.querySelector(".problems")) draft.restore(kept);
      draft.watch();
    });
  }
}
