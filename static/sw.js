// The service worker: keeps the app's own files on the tablet, so that it opens without a network. It holds nobody's
// pages and no data, and it touches nothing but GET. webapp/assets.py puts RELEASE before it: {name, files,
// pages}, where files are [address, hash] and pages have their addresses by name.
"use strict";

const PREFIX = "drumside-";
const CACHE = PREFIX + RELEASE.name;
// How long a page may keep somebody waiting before the tablet goes on by itself. Pages that only the server can make
// may take longer.
const WAIT_MS = 3000;
const WAIT_FOR_SERVER_MS = 10000;
// What a proxy answers while the server behind it is down.
const DOWN = [502, 503, 504];
// Addresses that a page has just heard the server at: once, it is given more time to answer.
const patient = new Set();
// The addresses that the shell can show by itself.
const ID = "[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}";
const BATCH = `batches/${ID}(?:/(?:whole|ground|result|decision/(?:release|hold|remeasure|reject|concession)))?`;
const GEAR = `gear/(?:meters/${ID}/check|grinders/${ID}/(?:log|grind-check))`;
const COMPARED = `comparisons/${ID}/[1-9][0-9]{0,3}/[ab]`;
const FILL = `studies/precision/${ID}/[1-9][0-9]{0,3}`;
const CAPTURE = new RegExp(`^/batches/${ID}/(?:whole|ground)$`);
const SHELL = new RegExp(`^/(?:shell|outbox|sign-in|batches/new|${BATCH}|${GEAR}|${COMPARED}|${FILL})?$`);

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("message", ({ data }) => {
  if (data === "SKIP_WAITING") self.skipWaiting();
  if (data?.waitFor) patient.add(data.waitFor);
});
self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request, url.pathname));
  else if (url.pathname.startsWith("/static/")) event.respondWith(file(request));
});

// All of it, past the browser's own cache, each file with the content that belongs to this release; or none of it,
// and the worker that is there stays.
async function install() {
  const resumed = await caches.has(CACHE);
  try {
    const cache = await caches.open(CACHE);
    const wanted = RELEASE.files.map(([url, integrity]) => new Request(url, { cache: "reload", integrity }));
    await cache.addAll(wanted);
  } catch (error) {
    if (!resumed) await caches.delete(CACHE);
    throw error;
  }
}

// The release before this one stays: a page of it may still be open and ask for its files.
async function activate() {
  const others = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  await Promise.all(others.slice(0, -1).map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function page(request, path) {
  const known = SHELL.test(path);
  const ms = known && !patient.delete(path) ? WAIT_MS : WAIT_FOR_SERVER_MS;
  return (await fromServer(request, ms)) ?? own(RELEASE.pages[known ? shellFor(path) : "offline"]);
}

// The form that is asked for alone opens sooner than a page with everything in it.
function shellFor(path) {
  if (path === "/batches/new") return "new-batch";
  return CAPTURE.test(path) ? "capture" : "shell";
}

// A whole page, or null: half a page is of no use to anybody.
async function fromServer(request, ms) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), ms);
  try {
    const answer = await fetch(request, { signal: stop.signal });
    if (DOWN.includes(answer.status)) return null;
    if (!answer.headers.get("Content-Type")?.startsWith("text/html")) return answer;
    const headers = new Headers(answer.headers);
    headers.delete("Content-Encoding");
    headers.delete("Content-Length");
    return new Response(await answer.blob(), { status: answer.status, statusText: answer.statusText, headers });
  } catch {
    return null;
  } finally {
    clearTimeout(timer);
  }
}

// Opened once for as long as this worker runs: a page asks for many files at once.
let opening = null;
const opened = () =>
  (opening ??= caches.open(CACHE).catch((error) => {
    opening = null;
    throw error;
  }));

async function own(address) {
  return (await (await opened()).match(address, { ignoreVary: true })) ?? Response.error();
}

// A file's address changes with its content, so the one that is kept is the right one. Nothing is added here.
async function file(request) {
  const own = await (await opened()).match(request, { ignoreVary: true });
  return own ?? (await caches.match(request, { ignoreVary: true })) ?? fetch(request);
}
