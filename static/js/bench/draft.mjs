// What was typed, kept in this tablet's database until it is finished: it survives a reload, a lock and a change of
// person. One draft for each batch and kind, or for each form, with the number that the record will be stored under.
// A draft has the fields as the form would post them; older builds kept ticks as true and false.
import { get, put, remove } from "../offline/store.mjs";

// The sending comes after the form (`ready`), which does not wait for it; whoever is quicker does. Without it the form
// goes the plain way.
export function sender(form, ready, options) {
  const loading = ready.then(() => import("./send.mjs")).then(({ default: Send }) => new Send(form, options));
  let settled = false;
  const set = () => (settled = true);
  loading.then(set, set);
  form.addEventListener("submit", (event) => {
    if (settled) return;
    event.preventDefault();
    event.stopPropagation();
    const { submitter } = event;
    const again = () => form.requestSubmit(submitter);
    loading.then(again, again);
  });
}

const SKIP = new Set(["csrf_token", "next", "take"]);

const foreseen = new Map();
// What somebody has read already: this draft, or none.
export const foresee = (key, kept) => foreseen.set(key, kept);

export const forget = (key) => remove("drafts", key);
export const peek = (key) => get("drafts", key);

const choice = (field) => field.type === "checkbox" || field.type === "radio";

export default class Draft {
  // `changed`: keep only what differs from the form as it came, so that yesterday's proposals do not come back.
  constructor(form, key, { stored = [], changed = false } = {}) {
    this.form = form;
    this.key = key;
    this.stored = new Set(stored);
    this.changed = changed;
    this.over = false;
    // Whether there is one: of a form in which nothing was typed none is made.
    this.there = false;
  }

  fields() {
    return [...this.form.elements].filter((e) => e.name && !SKIP.has(e.name) && e.type !== "submit" && e.type !== "button");
  }

  // The fields that are kept for this form, if there are any that are still wanted.
  async kept() {
    const kept = foreseen.has(this.key) ? foreseen.get(this.key) : await peek(this.key);
    foreseen.delete(this.key);
    if (!kept) return null;
    if (!this.stored.has(kept.fields.id)) return kept;
    await forget(this.key);
    return null;
  }

  restore(kept) {
    this.there = true;
    const version = this.form.elements.method_version?.value;
    const sameSteps = kept.fields.method_version === version;
    for (const field of this.fields()) {
      const value = kept.fields[field.name];
      if (value === undefined || field.name === "method_version" || field.name === "meter") continue;
      if (field.name.startsWith("steps-") && !sameSteps) continue;
      if (choice(field)) field.checked = value === true || value === field.value;
      else field.value = value;
    }
    this.say();
  }

  watch() {
    for (const sign of ["input", "change"]) this.form.addEventListener(sign, () => this.soon());
    document.addEventListener("drumside:before-lock", (event) => event.detail?.waitUntil?.(this.save()));
    document.addEventListener("visibilitychange", () => document.hidden && this.save());
  }

  // What was tapped is painted first.
  soon() {
    this.due ??= setTimeout(() => this.save());
  }

  isNew(field) {
    if (choice(field)) return field.checked !== field.defaultChecked;
    if (!this.changed && field.options) {
      return field.selectedIndex !== Math.max(0, [...field.options].findIndex((option) => option.defaultSelected));
    }
    return field.value !== field.defaultValue;
  }

  async save() {
    clearTimeout(this.due);
    this.due = null;
    if (this.over) return;
    const fields = {};
    let any = this.there;
    for (const field of this.fields()) {
      if (choice(field) && !field.checked) continue;
      const fresh = field.type !== "hidden" && this.isNew(field);
      any ||= fresh;
      if (!this.changed || fresh || field.name === "id") fields[field.name] = field.value;
    }
    if (!any) return;
    try {
      this.there = true;
      await put("drafts", this.key, { fields, at: new Date().toISOString() });
      this.say();
    } catch (error) {
      this.say(error);
    }
  }

  // Said only when the tablet's database has it, or when it could not be kept.
  say(problem = null) {
    // For what starts later than this form.
    document.body.dataset.draft = problem ? "broken" : "kept";
    document.dispatchEvent(new CustomEvent("drumside:draft", { detail: { kept: !problem, problem } }));
  }
}
