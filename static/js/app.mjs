// Starts one small class per data-module element. Each fails alone: one broken part never stops the page.
const parts = {
  "idle-lock": () => import("./people/idle-lock.mjs"),
  "pin-pad": () => import("./people/pin-pad.mjs"),
  problems: () => import("./ui/problems.mjs"),
  capture: () => import("./bench/capture.mjs"),
  "stored-drafts": () => import("./bench/stored-drafts.mjs"),
  "new-batch": () => import("./bench/new-batch.mjs"),
  strip: () => import("./strip/strip.mjs"),
  wall: () => import("./strip/wall.mjs"),
  "method-steps": () => import("./gear/method-steps.mjs"),
};

document.documentElement.classList.add("js");
for (const element of document.querySelectorAll("[data-module]")) {
  for (const name of element.dataset.module.split(" ")) {
    const load = parts[name];
    if (!load) continue;
    load()
      .then((module) => new module.default(element))
      .catch((error) => {
        // The page then shows all of itself, as it does without scripts.
        document.documentElement.classList.add("scripts-failed");
        console.error(name, error);
      });
  }
}
