// On the page that says "there is nothing here": perhaps the server does not have it yet, because it still waits on this
// tablet. Then this tablet shows it.
import { waiting } from "./outbox.mjs";

export default class WaitsHere {
  constructor() {
    this.look().catch((error) => console.warn("drumside: look", error));
  }

  async look() {
    const [, id] = /^\/batches\/([0-9a-f-]{36})(?:\/|$)/.exec(location.pathname) ?? [];
    if (!id) return;
    const here = (await waiting()).some((entry) => entry.kind === "batch" && entry.id === id);
    if (here) location.replace(`/shell?at=${encodeURIComponent(location.pathname)}`);
  }
}
