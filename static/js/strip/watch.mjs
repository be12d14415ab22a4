// Asks the server every few seconds whether the day has changed, and changes only the parts that differ.
// The answer is mostly "304, nothing new". A document fetched as such is parsed by the browser itself: no markup
// passes through a string here, as the page's trusted-types policy demands.
const EVERY_MS = 3000;
const GIVE_UP_MS = 8000;

export class Watch {
  // changed(names): called after parts with these ids were replaced.
  constructor(element, changed = () => {}) {
    this.element = element;
    this.changed = changed;
    this.news = document.getElementById("news");
    this.clock = new Intl.DateTimeFormat(document.documentElement.lang, {
      hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: element.dataset.zone,
    });
    this.heard = this.news.dataset.heard;
    document.addEventListener("visibilitychange", () => this.wake());
    this.timer = setTimeout(() => this.ask(), EVERY_MS);
  }

  wake() {
    if (document.hidden) return;
    clearTimeout(this.timer);
    this.ask();
  }

  ask() {
    if (document.hidden || this.request) return;
    const request = (this.request = new XMLHttpRequest());
    request.open("GET", location.href);
    request.responseType = "document";
    request.timeout = GIVE_UP_MS;
    request.setRequestHeader("If-None-Match", `"${this.element.dataset.version}"`);
    request.onload = () => this.answer(request);
    request.onloadend = () => {
      if (request.status === 0) this.lost();
      this.request = null;
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.ask(), EVERY_MS);
    };
    request.send();
  }

  answer(request) {
    const day = request.status === 200 && request.responseXML?.getElementById(this.element.id);
    if (request.status >= 500) return this.lost();
    // Signed out, the tablet revoked, the shift over: the page itself can say it better.
    if (request.status !== 304 && !day) return location.reload();
    this.heard = this.clock.format(new Date(request.getResponseHeader("Date") ?? Date.now()));
    this.say("fresh");
    if (!day) return;
    if (day.dataset.day !== this.element.dataset.day) return location.reload();
    if (this.selecting()) return;
    this.element.dataset.version = day.dataset.version;
    this.take(day);
  }

  // Replace the parts that differ; what nobody changed stays as it is, with its scroll and its focus.
  take(day) {
    const names = [];
    const focus = document.activeElement?.id;
    for (const fresh of day.querySelectorAll("[data-part]")) {
      const old = document.getElementById(fresh.id);
      if (!old) return location.reload();
      if (same(old, fresh)) continue;
      this.carry(old, fresh);
      old.replaceWith(document.adoptNode(fresh));
      names.push(fresh.id);
    }
    if (!names.length) return;
    if (focus && document.activeElement?.id !== focus) document.getElementById(focus)?.focus({ preventScroll: true });
    this.changed(names);
  }

  // Somebody is copying from the page: the next answer will do.
  selecting() {
    const selection = getSelection();
    return !selection.isCollapsed && this.element.contains(selection.anchorNode);
  }

  carry(old, fresh) {
    for (const details of old.querySelectorAll("details[open][id]")) {
      fresh.querySelector(`#${details.id}`)?.setAttribute("open", "");
    }
  }

  lost() {
    this.say("lost");
  }

  say(state) {
    const words = this.news.dataset[state].replace("{time}", this.heard);
    if (this.news.textContent !== words) this.news.textContent = words;
    this.news.classList.toggle("lost", state === "lost");
  }
}

// Marks added by scripts (the overview's window) do not count as a difference.
function same(old, fresh) {
  const copy = old.cloneNode(true);
  copy.querySelector(".window")?.replaceWith(fresh.querySelector(".window")?.cloneNode(true) ?? "");
  for (const details of copy.querySelectorAll("details[open]")) details.removeAttribute("open");
  return copy.isEqualNode(fresh);
}
