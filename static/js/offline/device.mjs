// What the tablet itself has to grant: that it does not clear what is kept, that its screen stays on.
const ASKED = "drumside-storage-asked";
const READ = "drumside-home-screen-read";

const remembered = (key) => {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
};

const remember = (key, value) => {
  try {
    localStorage.setItem(key, value);
  } catch {
    // Asked again on the next page.
  }
};

// "kept", "at-risk", or "unknown" where the browser cannot say.
export async function storageState() {
  if (!navigator.storage?.persisted) return "unknown";
  return (await navigator.storage.persisted()) ? "kept" : "at-risk";
}

// Asks once a day at most: some browsers ask the person, some decide by how the app is used.
export async function askToKeep(now = new Date()) {
  const day = now.toISOString().slice(0, 10);
  if (!navigator.storage?.persist || remembered(ASKED) === day) return storageState();
  remember(ASKED, day);
  return (await navigator.storage.persist()) ? "kept" : "at-risk";
}

export const fromHomeScreen = () =>
  navigator.standalone === true || ["standalone", "minimal-ui", "fullscreen"].some((mode) => matchMedia(`(display-mode: ${mode})`).matches);

// iPads say that they are Macs; no Mac has a touch screen.
const onIos = () => /iPad|iPhone|iPod/.test(navigator.userAgent) || (/Macintosh/.test(navigator.userAgent) && navigator.maxTouchPoints > 1);

// iOS clears what a page in the browser keeps after a week without use; an app on the home screen is spared.
export function warnOnIos() {
  if (!onIos() || fromHomeScreen() || remembered(READ)) return;
  const notice = document.getElementById("from-home-screen")?.content.firstElementChild?.cloneNode(true);
  if (!notice) return;
  notice.querySelector("[data-close]").addEventListener("click", () => {
    remember(READ, "1");
    notice.remove();
  });
  document.getElementById("main").before(notice);
}

// The screen stays on while a sample is captured. A tablet lets go of it when the page is hidden: it is asked again
// when the page is seen again. `on` says on the form whether it is held: on, off, or none where it cannot be.
export function keepAwake(form) {
  let held = null;
  const say = (state) => (form.dataset.awake = state);
  if (!navigator.wakeLock) return say("none");
  const ask = async () => {
    if (document.hidden || !form.isConnected || (held && !held.released)) return;
    try {
      held = await navigator.wakeLock.request("screen");
      held.addEventListener("release", () => say("off"));
      say("on");
    } catch {
      say("off");
    }
  };
  document.addEventListener("visibilitychange", ask);
  // Some tablets grant it only after a touch.
  form.addEventListener("pointerdown", ask);
  ask();
}
