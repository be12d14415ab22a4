// Locks a tablet that nobody touches. Half a minute before, a bar says so and offers to stay.
// Before it locks it tells the page ("drumside:before-lock" on document), so that a draft can be kept: a listener
// may hand a promise to event.detail.waitUntil(), and the lock waits for it, two seconds at most.
// Tabs of one browser share the time of the last touch, so that an idle tab never locks a busy one.
const WARN_S = 30;
const TELL_SERVER_EVERY_MS = 60_000;
const RETRY_MS = 5_000;
const TOUCHED = "drumside-touched";
const ENGLISH = {
  locking: "Locking in {seconds} s",
  stay: "Stay",
  waiting: "Locked. The server cannot be reached. Trying again.",
};
const SIGNS = ["pointerdown", "keydown", "input", "wheel", "touchstart"];

export default class IdleLock {
  constructor(body) {
    this.limit = Number(body.dataset.idleMinutes) * 60_000;
    this.lockUrl = body.dataset.lockUrl;
    this.token = body.dataset.csrf;
    this.words = { ...ENGLISH, ...document.getElementById("idle-words")?.dataset };
    this.told = Date.now();
    this.loadStyle();
    this.touch();
    for (const sign of SIGNS) document.addEventListener(sign, () => this.touch(), { passive: true, capture: true });
    document.addEventListener("visibilitychange", () => this.look());
    window.addEventListener("pageshow", () => this.look());
    this.timer = setInterval(() => this.look(), 1000);
  }

  loadStyle() {
    const link = document.createElement("link");
    link.rel = "stylesheet";
    link.href = new URL("../../css/idle-bar.css", import.meta.url);
    document.head.append(link);
  }

  touch() {
    // After the time is up a touch comes too late; only "Stay", before that, is heard.
    if (this.locking || this.left() <= 0) return;
    this.last = Date.now();
    try {
      localStorage.setItem(TOUCHED, String(this.last));
    } catch {
      // No storage (private mode): each tab then counts for itself.
    }
    this.hideBar();
    this.tellServer();
  }

  lastTouch() {
    const own = this.last ?? Date.now();
    let shared = 0;
    try {
      shared = Number(localStorage.getItem(TOUCHED));
    } catch {
      return own;
    }
    // A time to come is from a clock that was set back since.
    return shared > own && shared <= Date.now() ? shared : own;
  }

  left() {
    return this.lastTouch() + this.limit - Date.now();
  }

  // Long typing without sending would look idle to the server.
  tellServer() {
    if (Date.now() - this.told < TELL_SERVER_EVERY_MS) return;
    this.told = Date.now();
    const url = new URL("stay", new URL(this.lockUrl, location.href));
    fetch(url, { method: "POST", headers: { "X-CSRFToken": this.token } }).catch(() => {});
  }

  look() {
    if (this.locking) return;
    const left = this.left();
    if (left <= 0) this.lock();
    else if (left <= WARN_S * 1000) this.showBar(Math.ceil(left / 1000));
    else this.hideBar();
  }

  showBar(seconds) {
    this.bar ??= this.makeBar();
    // A screen reader hears it at 30, 20 and 10, not every second.
    if (seconds % 10 === 0 || !this.text.textContent) {
      this.text.textContent = this.words.locking.replace("{seconds}", seconds);
    }
  }

  hideBar() {
    this.bar?.remove();
    this.bar = null;
  }

  makeBar() {
    const bar = document.createElement("div");
    bar.className = "idle-bar";
    this.text = document.createElement("p");
    this.text.setAttribute("role", "status");
    this.stay = document.createElement("button");
    this.stay.type = "button";
    this.stay.className = "button primary";
    this.stay.textContent = this.words.stay;
    this.stay.addEventListener("click", () => this.touch());
    bar.append(this.text, this.stay);
    document.body.append(bar);
    return bar;
  }

  async lock() {
    this.locking = true;
    const waits = [];
    const detail = { waitUntil: (promise) => waits.push(promise) };
    document.dispatchEvent(new CustomEvent("drumside:before-lock", { detail }));
    await Promise.race([Promise.allSettled(waits), new Promise((done) => setTimeout(done, 2000))]);
    this.send();
  }

  async send() {
    const here = location.pathname + location.search;
    const body = new URLSearchParams({ csrf_token: this.token, next: here });
    try {
      const answer = await fetch(this.lockUrl, { method: "POST", body });
      // The answer was led on to the sign-in page, which is where to go now; a revoked tablet is told so here.
      if (answer.redirected) location.replace(answer.url);
      else if (answer.status === 403) location.reload();
      else this.waitForServer();
    } catch {
      this.waitForServer();
    }
  }

  // No network: nobody may go on in this person's name, and the page with its draft stays.
  waitForServer() {
    this.bar ??= this.makeBar();
    this.stay.hidden = true;
    this.text.textContent = this.words.waiting;
    for (const part of document.querySelectorAll("main, header, footer")) part.inert = true;
    setTimeout(() => this.send(), RETRY_MS);
  }
}
