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
  "method-steps": () => import("./gear/method-steps.mjs"),
};

// Starts what is within `root`, and `root` itself.
export function start(root) {
  const elements = [...root.querySelectorAll("[data-module]")];
  if (root.matches?.("[data-module]")) elements.unshift(root);
  for (const element of elements) for (const name of element.dataset.module.split(" ")) begin(name, element);
}

export function begin(name, element) {
  parts[name]?.()
    .then((module) => new module.default(element))
    .catch((error) => {
      // The page then shows all of itself, as it does without scripts.
      document.documentElement.classList.add("scripts-failed");
      console.error(name, error);
    });
}

document.documentElement.classList.add("js");
start(document);
import("./offline/register.mjs").catch((error) => console.error("register", error));
