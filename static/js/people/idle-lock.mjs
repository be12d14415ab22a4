// Locks a tablet that nobody touches; half a minute before, a bar offers to stay. Before it locks it tells the page
// ("drumside:before-lock"; event.detail.waitUntil(promise) holds the lock up, two seconds at most). Tabs share the time
// of the last touch. Without the server it locks all the same (the locked tablet, below); the session is then ended before
// anything else is shown or sent in that person's name.
import { arrive, atTablet, claim, endSession, leave, owed } from "../offline/claims.mjs";
import { fill, subscribe, waiting } from "../offline/outbox.mjs";
import { TOUCHED, get, touchedAt } from "../offline/store.mjs";

const WARN_S = 30;
const TELL_SERVER_EVERY_MS = 60_000;
const RETRY_MS = 5_000;
const SIGNS = ["pointerdown", "keydown", "input", "wheel", "touchstart"];

export default class IdleLock {
  // On a page of the server the body says whose session it is, and where to lock; on the shell it does not.
  constructor(body) {
    this.words = document.getElementById("idle-words").dataset;
    this.mark = body.dataset.session;
    this.lockUrl = body.dataset.lockUrl;
    this.token = body.dataset.csrf;
    this.told = Date.now();
    this.noted = 0;
    this.begin(Number(body.dataset.idleMinutes)).catch((error) => console.warn("drumside: lock", error));
  }

  async begin(minutes) {
    this.limit = (minutes || 10) * 60_000;
    if (this.mark && owed() === this.mark) {
      document.querySelector("main").hidden = true;
      return this.lock();
    }
    if (!this.mark) await this.beginAlone();
    if (this.locking) return;
    subscribe((news) => "person" in news && this.changed(news.person));
    this.touch();
    for (const sign of SIGNS) document.addEventListener(sign, () => this.touch(), { passive: true, capture: true });
    document.addEventListener("visibilitychange", () => this.look());
    window.addEventListener("pageshow", () => this.look());
    this.timer = setInterval(() => this.look(), 1000);
    if (this.mark) await arrive(document.body.dataset);
  }

  // Without the server: whoever was at the tablet still is, unless it was left alone for too long.
  async beginAlone() {
    const kit = await get("kit", "kit").catch(() => null);
    this.limit = (kit?.site?.idle_minutes || 10) * 60_000;
    this.last = this.lastTouch(0) || Date.now();
    // Nobody is here to be sent away, and somebody may be coming by another tab just now: that is not undone.
    const here = await atTablet();
    const { person } = document.body.dataset;
    if (!here) {
      this.locking = true;
      this.end();
    } else if (person && person !== here.person_id) await this.changed(here.person_id);
    else if (this.left() <= 0) this.lock();
  }

  touch() {
    // After the time is up a touch comes too late; only "Stay", before that, is heard.
    if (this.locking || this.left() <= 0) return;
    const now = Date.now();
    // The other tabs need to know it to the second; writing takes longer than the rest of a tap.
    if (Math.abs(now - this.noted) < 1000) this.last = now;
    else this.note(now);
    this.hideBar();
    this.tellServer();
  }

  note(time) {
    this.last = this.noted = time;
    try {
      localStorage.setItem(TOUCHED, String(time));
    } catch {
      // No storage (private mode): each tab then counts for itself.
    }
  }

  lastTouch(own = this.last ?? Date.now()) {
    const shared = touchedAt();
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
    if (!this.lockUrl) return;
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

  // Whoever has something typed keeps it now, within two seconds.
  async keep() {
    const waits = [];
    const detail = { waitUntil: (promise) => waits.push(promise) };
    document.dispatchEvent(new CustomEvent("drumside:before-lock", { detail }));
    await Promise.race([Promise.allSettled(waits), new Promise((done) => setTimeout(done, 2000))]);
  }

  async lock() {
    this.locking = true;
    await this.keep();
    this.person = (await atTablet().catch(() => null))?.person_id;
    await leave().catch(() => {});
    this.end();
  }

  // Somebody else is at the tablet now, by another tab: this page is not theirs, and what it shows is not for them.
  async changed(person) {
    if (this.locking || person === (document.body.dataset.person ?? null)) return;
    this.locking = true;
    await this.keep();
    location.replace(this.here());
  }

  // This page; on the PIN page where that was to lead, as long as it is a path of this app. The PIN page itself, loaded
  // again without the server, would send away whoever has just come.
  here() {
    if (location.pathname !== "/sign-in") return location.pathname + location.search;
    const asked = new URLSearchParams(location.search).get("next") ?? "/";
    return /^\/(?![/\\])/.test(asked) ? asked : "/";
  }

  // To the PIN page when the server knows; until then the tablet is locked by itself.
  async end() {
    const here = this.here();
    try {
      location.replace(await endSession(here));
    } catch (stop) {
      this.hideBar();
      // A tablet that was revoked is told so by the server; there is nobody's session left to end.
      if (stop.pause === "not_enrolled") return location.replace("/sign-in");
      cover(this.words, (person) => this.goOn(person, here));
      // Somebody who takes over on another tab is at this one as well.
      this.heard ??= subscribe((news) => news.person && this.goOn({ id: news.person }, here));
      this.again = setTimeout(() => this.end(), RETRY_MS);
    }
  }

  // The page that was there belonged to whoever was here before; another person starts at the day.
  goOn(person, here) {
    clearTimeout(this.again);
    this.note(Date.now());
    location.replace(person.id === this.person ? here : "/");
  }
}

// The locked tablet while the server cannot be told: nothing of the page can be seen or used. Where the app can go on
// by itself, whoever takes over taps their name; that is noted as a claim, since no PIN can be asked for here.
async function cover(words, onClaim) {
  for (const part of document.querySelectorAll("main, header, footer, .skip")) part.inert = part.hidden = true;
  if (document.querySelector(".lock-screen")) return;
  const screen = document.createElement("section");
  screen.className = "lock-screen page narrow";
  // The page's own main part is not there for anybody now.
  screen.setAttribute("role", "main");
  const add = (tag, text, role) => {
    const made = Object.assign(document.createElement(tag), { textContent: text });
    if (role) made.setAttribute("role", role);
    screen.append(made);
    return made;
  };
  const title = add("h1", words.who);
  add("p", words.waiting, "status");
  document.body.append(screen);
  title.tabIndex = -1;
  title.focus();
  const count = await waiting().then((entries) => entries.length).catch(() => 0);
  if (count) add("p", fill(words.count, { n: count }));
  const people = (await get("kit", "kit").catch(() => null))?.people ?? [];
  if (!navigator.serviceWorker?.controller || !people.length) return;
  add("p", words.claim);
  const names = add("div", "");
  names.className = "options";
  for (const person of people) {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: person.name });
    button.addEventListener("click", () => claim(person).then(() => onClaim(person)), { once: true });
    names.append(button);
  }
}
