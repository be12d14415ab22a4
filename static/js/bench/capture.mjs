// The capture page: one form, shown step by step, computing as readings come in. Everything typed is kept on the
// tablet; what is stored is what the server made of the same form.
import Draft, { sender } from "./draft.mjs";
import Steps from "./steps.mjs";

export default class Capture {
  constructor(form) {
    this.form = form;
    this.kit = JSON.parse(form.dataset.kit);
    const { draft, stored } = form.dataset;
    [this.batch, this.kind] = draft.split("/");
    this.steps = new Steps(form, () => this.read());
    this.draft = new Draft(form, draft, { stored: stored.split(" ").filter(Boolean) });
    form.addEventListener("submit", () => this.stamp());
    this.ready = this.start().catch(failed);
    sender(form, this.ready.then(() => this.load()), {
      record: () => ({ kind: "sample", batch_id: this.batch, sample_kind: this.kind, about: form.dataset.about ?? "" }),
      next: (wanted) => this.next(wanted),
      open: () => this.steps.missing() ?? this.readings.open(),
      draft: this.draft,
    });
    const meter = form.querySelector("[data-meter]");
    meter?.addEventListener("change", () => this.draft.save().then(() => this.anew("meter", meter.value)));
  }

  async start() {
    const fresh = this.form.dataset.wrong === "0";
    const kept = fresh ? await this.draft.kept().catch(() => null) : null;
    const begun = kept?.fields.method_version ?? "";
    // A running capture finishes on the version of the method that it began with.
    if (begun && begun !== this.form.elements.method_version.value && this.anew("version", begun)) return;
    const fields = kept?.fields ?? Object.fromEntries(new FormData(this.form));
    const typed = Object.keys(fields).some((name) => name.endsWith("-value") && fields[name].trim());
    // Where the steps come first, the readings come while they are done.
    if (typed || !fresh) await this.load();
    if (kept) {
      this.readings?.makeRoom(kept.fields);
      this.draft.restore(kept);
    }
    if (this.steps.first() === -1) await this.load();
    this.readings?.update();
    // Before the first reading is given the focus: nothing that is not shown can have it.
    this.form.classList.add("guided");
    this.steps.start(!fresh || Boolean(this.readings?.hasAny()));
    this.draft.watch();
  }

  // The readings and their pad.
  load() {
    this.loading ??= Promise.all([import("./readings.mjs"), import("./pad.mjs")]).then(([readings, pad]) => {
      this.readings = new readings.default(this.form, this.kit);
      this.pad = new pad.default(this.form, this.readings, this.kit);
      this.readings.update();
    });
    return this.loading;
  }

  read() {
    if (this.readings) this.readings.begin();
    else this.load().then(() => this.readings.begin(), failed);
  }

  // When it was read, by this tablet's clock; the server keeps its own time beside it.
  stamp() {
    this.form.elements.made_at.value = new Date().toISOString();
  }

  next(wanted) {
    if (wanted === "strip") return "/";
    const { onward } = this.form.dataset;
    return `/batches/${this.batch}/${wanted || onward || "result"}`;
  }

  // The page is made anew for another meter or version; the draft brings back what was typed. False if it is for that.
  anew(name, value) {
    const url = new URL(location.href);
    if (url.searchParams.get(name) === value) return false;
    url.searchParams.set(name, value);
    location.replace(url);
    return true;
  }
}

function failed(error) {
  document.documentElement.classList.add("scripts-failed");
  console.error("capture", error);
}
