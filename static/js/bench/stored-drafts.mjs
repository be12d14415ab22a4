// On a page that shows what the server has stored: drafts of those samples are not needed any more.
import { forget, peek } from "./draft.mjs";

export default class StoredDrafts {
  constructor(element) {
    const stored = element.dataset.stored.split(" ").filter(Boolean);
    for (const key of element.dataset.drafts.split(" ")) this.tidy(key, stored);
  }

  async tidy(key, stored) {
    const kept = await peek(key);
    if (kept && stored.includes(kept.fields.id)) await forget(key);
  }
}
