// Served in place of the service worker by DRUMSIDE_WORKER=off: takes the worker and its files away, and leaves what
// is written in the tablet's database, drafts and what waits to be sent, where it is.
"use strict";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(leave()));

async function leave() {
  const names = (await caches.keys()).filter((name) => name.startsWith("drumside-"));
  await Promise.all(names.map((name) => caches.delete(name)));
  await self.registration.unregister();
}
