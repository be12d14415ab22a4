// What was typed, kept in this tablet's database until the sample is stored: it survives a reload, a lock and a
// change of person. One draft for each batch and kind, with the number that the sample will be stored under.
const NAME = "drumside";
const STORE = "drafts";
const SKIP = new Set(["csrf_token", "next", "take"]);

function open() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE);
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

async function within(mode, work) {
  const db = await open();
  try {
    return await new Promise((resolve, reject) => {
      const transaction = db.transaction(STORE, mode);
      const request = work(transaction.objectStore(STORE));
      transaction.oncomplete = () => resolve(request.result);
      transaction.onerror = transaction.onabort = () => reject(transaction.error);
    });
  } finally {
    db.close();
  }
}

export function forget(key) {
  return within("readwrite", (store) => store.delete(key));
}

export function peek(key) {
  return within("readonly", (store) => store.get(key));
}

export default class Draft {
  constructor(form, key, stored) {
    this.form = form;
    this.key = key;
    this.stored = new Set(stored.filter(Boolean));
    this.chip = document.querySelector("[data-saved]");
  }

  fields() {
    return [...this.form.elements].filter((e) => e.name && !SKIP.has(e.name) && e.type !== "submit" && e.type !== "button");
  }

  // makeRoom(fields): called before the fields are filled, for rows that the page did not come with.
  async restore(makeRoom) {
    const kept = await peek(this.key);
    if (!kept) return;
    if (this.stored.has(kept.fields.id)) return forget(this.key);
    makeRoom(kept.fields);
    const sameSteps = kept.fields.method_version === this.form.elements.method_version.value;
    for (const field of this.fields()) {
      const value = kept.fields[field.name];
      if (value === undefined || field.name === "method_version" || field.name === "meter") continue;
      if (field.name.startsWith("steps-") && !sameSteps) continue;
      if (field.type === "checkbox" || field.type === "radio") field.checked = value === true;
      else field.value = value;
    }
    this.say();
  }

  watch() {
    this.form.addEventListener("input", () => this.save());
    this.form.addEventListener("change", () => this.save());
    document.addEventListener("drumside:before-lock", (event) => event.detail?.waitUntil?.(this.save()));
    document.addEventListener("visibilitychange", () => document.hidden && this.save());
  }

  async save() {
    const fields = {};
    for (const field of this.fields()) {
      fields[field.name] = field.type === "checkbox" || field.type === "radio" ? field.checked : field.value;
    }
    await within("readwrite", (store) => store.put({ fields, at: new Date().toISOString() }, this.key));
    this.say();
  }

  // Said only when the tablet's database has it.
  say() {
    if (this.chip) this.chip.querySelector("span").textContent = this.chip.dataset.kept;
  }
}
