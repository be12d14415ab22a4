// The locked tablet while the server cannot be told: nothing of the page can be seen or used. Where the app can go on
// by itself, whoever takes over taps their name; that is noted as a claim, since no PIN can be asked for here.
import { claim } from "../offline/claims.mjs";
import { waiting } from "../offline/outbox.mjs";
import { get } from "../offline/store.mjs";
import { fill } from "../offline/words.mjs";

export async function cover(words, onClaim) {
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
