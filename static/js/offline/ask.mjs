// Asking our own server, and knowing that it was our server that answered.
const PATIENCE_MS = 20_000;

// No answer that counts. `pause`: it was ours, and somebody has to enter a PIN (or enrol the tablet) first.
export class Stop extends Error {
  constructor(why, pause = null) {
    super(why);
    this.pause = pause;
  }
}

// The answer of one of our JSON addresses, read to its end: {status, body}. A redirect, a page, an empty answer or a
// broken connection is no answer. A 413 may come from a proxy in between, in its own words.
export async function ask(path, options = {}, patience = PATIENCE_MS) {
  const rules = { cache: "no-store", credentials: "same-origin", redirect: "error", signal: AbortSignal.timeout(patience) };
  let response;
  let body;
  try {
    response = await fetch(path, { ...options, ...rules });
    const ours = !response.redirected && /^application\/json\b/.test(response.headers.get("Content-Type") ?? "");
    body = ours ? await response.json() : null;
  } catch {
    throw new Stop("unreachable");
  }
  if (body && typeof body === "object") return { status: response.status, body };
  if (response.status === 413) return { status: 413, body: {} };
  throw new Stop("not our server");
}

// A form token made just now: proof that the server is there. Never kept with what waits: it would be stale by then.
export async function freshToken(patience) {
  const { status, body } = await ask("/csrf", {}, patience);
  if (status === 200 && body.token) return body.token;
  throw new Stop("no token", status === 401 || status === 403 ? (body.error ?? "refused") : null);
}

export async function send(path, token, content, patience) {
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
  return ask(path, { method: "POST", headers, body: JSON.stringify(content) }, patience);
}
