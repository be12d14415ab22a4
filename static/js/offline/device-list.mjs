import { fromHomeScreen, storageState } from "./device.mjs";
import { fill } from "./outbox.mjs";

// The lines of templates/sync/device.html.
export default class Device {
  constructor(list) {
    this.list = list;
    this.show().catch((error) => console.warn("drumside: device", error));
  }

  async show() {
    const { list } = this;
    const put = (name, text) => (list.querySelector(`[data-${name}]`).textContent = text);
    const { kept, atRisk, unknown } = list.dataset;
    put("storage", { kept, "at-risk": atRisk, unknown }[await storageState()]);
    const { usage = 0, quota = 0 } = (await navigator.storage?.estimate?.()) ?? {};
    const megabytes = (bytes) => Math.round(bytes / 1e5) / 10;
    put("space", fill(list.dataset.used, { used: megabytes(usage), quota: Math.round(quota / 1e6) }));
    put("opened", fromHomeScreen() ? list.dataset.home : list.dataset.browser);
    put("release", (await newestRelease()) ?? list.dataset.none);
    list.hidden = false;
  }
}

async function newestRelease() {
  const names = (await globalThis.caches?.keys()) ?? [];
  return names.filter((name) => name.startsWith("drumside-")).pop()?.slice("drumside-".length) ?? null;
}
