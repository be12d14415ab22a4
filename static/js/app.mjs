// Starts one small class per data-module element. Each fails alone: one broken part never stops the page.
const parts = {
  "idle-lock": () => import("./people/idle-lock.mjs"),
  "pin-pad": () => import("./people/pin-pad.mjs"),
  reach: () => import("./people/reach.mjs"),
  problems: () => import("./ui/problems.mjs"),
  capture: () => import("./bench/capture.mjs"),
  practice: () => import("./bench/practice.mjs"),
  "stored-drafts": () => import("./bench/stored-drafts.mjs"),
  "new-batch": () => import("./bench/new-batch.mjs"),
  decide: () => import("./bench/decide.mjs"),
  "record-form": () => import("./bench/record-form.mjs"),
  corner: () => import("./offline/corner.mjs"),
  "outbox-page": () => import("./offline/outbox-page.mjs"),
  shell: () => import("./offline/shell.mjs"),
  device: () => import("./offline/device-list.mjs"),
  "waits-here": () => import("./offline/waits-here.mjs"),
  strip: () => import("./strip/strip.mjs"),
  wall: () => import("./strip/wall.mjs"),
  "meter-check": () => import("./gear/meter-check.mjs"),
  print: () => import("./sheets/print.mjs"),
  "method-steps": () => import("./gear/method-steps.mjs"),
};

const loaded = {};

// Of `root` and what is within it: [element, name].
function named(root) {
  const elements = [...root.querySelectorAll("[data-module]")];
  if (root.matches?.("[data-module]")) elements.unshift(root);
  return elements.flatMap((element) => element.dataset.module.split(" ").map((name) => [element, name]));
}

// Loads what `root` needs, so that it starts in the same moment in which it comes into the page: it is laid out once.
export const load = (root) => Promise.all(named(root).map(([, name]) => loadPart(name).catch(() => {})));

const loadPart = async (name) => (loaded[name] ??= await parts[name]?.());

// Starts what is within `root`, and `root` itself; resolves when all of it can be used.
export const start = (root) => Promise.all(named(root).map(([element, name]) => begin(name, element)));

// `ready` of a part: a promise, where it is not of use at once.
export async function begin(name, element) {
  try {
    const part = loaded[name] ?? (await loadPart(name));
    await (part && new part.default(element).ready);
  } catch (error) {
    // The page then shows all of itself, as it does without scripts.
    document.documentElement.classList.add("scripts-failed");
    console.error(name, error);
  }
}

// What the tablet fills by itself comes before all else on the page.
async function all() {
  const found = named(document);
  const shell = found.find(([, name]) => name === "shell")?.[0];
  if (shell) await begin("shell", shell);
  for (const [element, name] of found) if (element !== shell) begin(name, element);
  import("./offline/register.mjs").catch((error) => console.error("register", error));
}

document.documentElement.classList.add("js");
all();
