// On every page: the service worker and its next version, the kit, and what the tablet itself has to grant.
import { askToKeep, keepAwake, warnOnIos } from "./device.mjs";
import { renew } from "./kit.mjs";

const HOUR_MS = 3_600_000;
const KIT_EVERY_MS = 15 * 60_000;
const DIRTY = "drumside-dirty";
const RELOADED = "drumside-reloaded";
const ONCE_IN_MS = 60_000;

// The one script address that this app makes at run time; the policy lets nothing else through.
const WORKER = "/sw.js";
const RULE = { createScriptURL: (address) => (address === WORKER ? address : "") };
const workerAddress = () => globalThis.trustedTypes?.createPolicy("drumside-worker", RULE).createScriptURL(WORKER) ?? WORKER;

// A form with something in it that is not stored. It holds a lock, so that other pages of this tablet know of it; the
// lock goes by itself when the page does.
class Dirt {
  constructor() {
    this.dirty = false;
    // A draft that was there before this.
    if (document.body.dataset.draft) this.mark();
    for (const sign of ["input", "change", "drumside:draft"]) {
      document.addEventListener(sign, (event) => this.look(event), { capture: true });
    }
  }

  look(event) {
    const form = event.type === "drumside:draft" || event.target.closest?.("form[method=post]");
    if (form && !this.dirty) this.mark();
  }

  mark() {
    this.dirty = true;
    navigator.locks?.request(DIRTY, { mode: "shared" }, () => new Promise(() => {}));
    document.dispatchEvent(new CustomEvent("drumside:dirty"));
  }

  // Here or on another page of this tablet.
  async anywhere() {
    if (this.dirty) return true;
    const { held } = (await navigator.locks?.query()) ?? { held: [] };
    return held.some((lock) => lock.name === DIRTY);
  }
}

class Worker {
  constructor(dirt) {
    this.dirt = dirt;
    this.had = Boolean(navigator.serviceWorker.controller);
    navigator.serviceWorker.addEventListener("controllerchange", () => this.changed());
    document.addEventListener("drumside:dirty", () => this.hide());
  }

  async start() {
    this.registration = await navigator.serviceWorker.register(workerAddress(), { updateViaCache: "none" });
    const { registration } = this;
    registration.addEventListener("updatefound", () => this.watch(registration.installing));
    this.offer();
    const look = () => document.hidden || registration.update().catch(() => {});
    document.addEventListener("visibilitychange", look);
    setInterval(look, HOUR_MS);
  }

  watch(worker) {
    worker?.addEventListener("statechange", () => worker.state === "installed" && this.offer());
  }

  // Offered, never forced, and only while nothing on this page waits to be stored.
  offer() {
    if (!this.registration.waiting || !navigator.serviceWorker.controller || this.dirt.dirty || this.bar) return;
    this.bar = document.getElementById("new-version")?.content.firstElementChild.cloneNode(true);
    if (!this.bar) return;
    this.bar.querySelector("[data-apply]").addEventListener("click", () => this.apply());
    document.getElementById("main").before(this.bar);
  }

  hide() {
    this.bar?.remove();
    this.bar = null;
  }

  async apply() {
    if (await this.dirt.anywhere()) {
      const words = document.getElementById("busy-elsewhere").content.textContent;
      this.bar.querySelector("p").textContent = words;
      return;
    }
    this.applied = true;
    this.registration.waiting?.postMessage("SKIP_WAITING");
  }

  // A new worker has taken over: the page is loaded anew with its files. One with something in it stays as it is; the
  // files of its version are still there. The very first worker changes nothing on the page. Servers that give two
  // versions in turn must not make a page load itself for ever.
  changed() {
    const first = !this.had;
    this.had = true;
    this.hide();
    const last = Number(sessionStorage.getItem(RELOADED));
    if (first || this.dirt.dirty || (!this.applied && Date.now() - last < ONCE_IN_MS)) return;
    sessionStorage.setItem(RELOADED, Date.now());
    location.reload();
  }
}

async function kitNow() {
  // Whoever is not signed in gets none, and without the server the last one is the one.
  const [, batchId] = /^\/batches\/([0-9a-f-]{36})(?:\/|$)/.exec(location.pathname) ?? [];
  await renew(batchId).catch(() => {});
}

function start() {
  const dirt = new Dirt();
  const wanted = document.documentElement.dataset.worker !== "off";
  if (wanted && "serviceWorker" in navigator) {
    new Worker(dirt).start().catch((error) => console.warn("drumside: worker", error));
  }
  warnOnIos();
  const capture = document.querySelector("form.capture");
  if (capture) keepAwake(capture);
  if (document.body.dataset.person) {
    askToKeep().catch(() => {});
    kitNow();
    setInterval(kitNow, KIT_EVERY_MS);
  }
}

start();
