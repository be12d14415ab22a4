// The corner of every page: what waits on this tablet, in words that are true at that moment. It also starts the
// sending, since it is on every page.
import { atTablet, openClaims } from "./claims.mjs";
import { start } from "./flush.mjs";
import { age, clock, fill, subscribe, waiting } from "./outbox.mjs";
import { get } from "./store.mjs";

const EVERY_MS = 30_000;

export default class Corner {
  constructor(chip) {
    this.chip = chip;
    this.text = chip.querySelector("span");
    this.said = this.text.textContent.trim();
    this.draft = chip.dataset[document.body.dataset.draft] ?? "";
    subscribe((news) => this.hear(news));
    document.addEventListener("drumside:draft", (event) => {
      this.draft = event.detail.kept ? chip.dataset.kept : chip.dataset.broken;
      this.show();
    });
    setInterval(() => this.show(), EVERY_MS);
    this.show().then(start);
  }

  hear(news) {
    if (news.stored?.length) {
      this.said = fill(this.chip.dataset.stored, { time: clock(Date.now()) });
      this.draft = "";
    }
    this.show();
  }

  // Asked for again while it is looking, it looks once more: the last look counts.
  async show() {
    this.again = Boolean(this.looking);
    if (this.looking) return;
    this.looking = true;
    do {
      this.again = false;
      const text = await this.words().catch(() => this.chip.dataset.broken);
      this.chip.hidden = !text;
      if (this.text.textContent !== text) this.text.textContent = text;
    } while (this.again);
    this.looking = false;
  }

  async words() {
    const w = this.chip.dataset;
    const entries = await waiting();
    const looks = entries.filter((entry) => entry.state === "attention").length;
    const open = entries.filter((entry) => entry.state === "saved" || entry.state === "sent");
    const parts = [];
    if (looks) parts.push(looks === 1 ? w.attentionOne : fill(w.attention, { n: looks }));
    if (open.length) parts.push(looks ? fill(w.more, { n: open.length }) : await this.how(open));
    if (!open.length && (await this.claimed())) parts.push(w.claim);
    if (!parts.length && (await get("here", "remarks"))?.length) parts.push(w.remark);
    this.chip.classList.toggle("looks", looks > 0);
    if (this.draft && !open.length) parts.push(this.draft);
    return parts.join(" · ") || this.said;
  }

  async how(open) {
    const w = this.chip.dataset;
    const values = { n: open.length, age: age(open[0].saved_at) };
    if ((await get("here", "pause")) === "sign_in") return fill(w.pin, values);
    if (open.every((entry) => entry.state === "sent")) return fill(w.sent, values);
    const fresh = Date.now() - Date.parse(open[0].saved_at) < 60_000;
    return open.length === 1 && fresh ? w.savedOne : fill(w.savedMany, values);
  }

  // Whoever is here came by a claim that their PIN has not confirmed yet.
  async claimed() {
    const [here, claims] = [await atTablet(), await openClaims()];
    return claims.some((claim) => claim.person_id === here?.person_id && !here.claim_id);
  }
}
