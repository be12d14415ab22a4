// The words for what waits, from the corner of the page, where the server has put them; and how they are filled in.
export const words = () => document.querySelector("[data-saved]")?.dataset ?? {};

export const fill = (text = "", values = {}) => text.replace(/\{(\w+)\}/g, (_all, name) => values[name] ?? "");

// How long ago: "12 min", "3 h", "5 days".
export function age(since, now = Date.now()) {
  const minutes = Math.max(0, Math.floor((now - Date.parse(since)) / 60_000));
  if (minutes < 90) return fill(words().minutes, { n: minutes || "<1" });
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? fill(words().hours, { n: hours }) : fill(words().days, { n: Math.floor(hours / 24) });
}

export function clock(moment) {
  const shape = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  return new Date(moment).toLocaleTimeString(document.documentElement.lang, shape);
}
