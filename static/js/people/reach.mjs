// A plain form that only leaves when the server is there. Otherwise the browser would show an error page of its own, and
// an installed app has no way back from that; the PIN page without a server is the locked tablet's (idle-lock.mjs).
const PATIENCE_MS = 4000;

// Whether anything answers; what it says does not matter.
async function answers() {
  try {
    await fetch("/csrf", { cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
    return true;
  } catch {
    return false;
  }
}

export default class Reach {
  constructor(form) {
    form.addEventListener("submit", (event) => {
      if (event.defaultPrevented || !navigator.serviceWorker?.controller) return;
      event.preventDefault();
      this.send(form);
    });
  }

  async send(form) {
    if (await answers()) return form.submit();
    const next = form.elements.next?.value || "/";
    location.replace(`/sign-in?next=${encodeURIComponent(next)}`);
  }
}
