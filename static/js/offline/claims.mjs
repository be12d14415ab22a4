// Who is at this tablet. With the server there: whose PIN it has seen. Without it: who says that they are, which is
// noted as a claim and confirmed by their PIN later. Nothing here can tell a right PIN from a wrong one.
import { Stop, freshToken } from "./ask.mjs";
import { add, tell } from "./outbox.mjs";
import { all, each, get, within } from "./store.mjs";

// A session that was locked here while the server could not be told; its mark, in localStorage so that a page knows
// before it shows anything.
const OWED = "drumside-lock-owed";
const LOCK_MS = 4000;

export function owed(mark) {
  try {
    if (mark !== undefined) mark ? localStorage.setItem(OWED, mark) : localStorage.removeItem(OWED);
    return localStorage.getItem(OWED);
  } catch {
    return null;
  }
}

export const atTablet = () => get("here", "person");

// Others' readings are not shown to whoever comes next.
function keepOwn(shown, personId) {
  each(shown, (cursor) => cursor.value?.person_id !== personId && cursor.delete());
}

// A page of the server says whose session it belongs to (the body's data-person, -name, -role and -session).
export async function arrive({ person, name, role, session }) {
  owed("");
  await within(["here", "shown"], "readwrite", (here, shown) => {
    here.put({ person_id: person, name, role, claim_id: null, session }, "person");
    keepOwn(shown, person);
  });
  tell({ person });
}

// Nobody is at the tablet any more. The session is still to be ended on the server.
export async function leave() {
  const person = await atTablet();
  const mark = document.body.dataset.session ?? person?.session;
  if (mark) owed(mark);
  await nobody();
}

// Nobody is at the tablet: the server asks for a PIN, or the tablet was locked. Other tabs hear of it as of a person.
export async function nobody() {
  await within(["here"], "readwrite", (here) => here.delete("person"));
  tell({ person: null });
}

// Ends the session on the server, or throws Stop; gives the address of the PIN page.
export async function endSession(next = "/") {
  const token = await freshToken(LOCK_MS);
  const body = new URLSearchParams({ csrf_token: token, next });
  const signal = AbortSignal.timeout(LOCK_MS);
  const answer = await fetch("/lock", { method: "POST", body, cache: "no-store", signal }).catch(() => null);
  if (!answer?.ok || !answer.redirected || new URL(answer.url).pathname !== "/sign-in") throw new Stop("not locked");
  owed("");
  return answer.url;
}

// A form token, with no session left of somebody who is not here any more.
export async function ownToken(patience) {
  if (owed()) await endSession();
  return freshToken(patience);
}

// Somebody says who they are while no PIN can be asked for. Noted here and sent along as a record of its own.
export async function claim(person) {
  const id = crypto.randomUUID();
  const at = new Date().toISOString();
  const { id: person_id, name } = person;
  await within(["claims", "outbox", "here", "shown"], "readwrite", (claims, outbox, here, shown) => {
    claims.put({ id, person_id, name, claimed_at: at }, id);
    add(outbox, here, { id, kind: "claim", person_id, made_at: at, claimed_at: at, form: {}, who: name, about: "" });
    here.put({ person_id, name, role: person.role, claim_id: id, session: null }, "person");
    keepOwn(shown, person_id);
  });
  tell({ state: "saved", id });
  tell({ person: person_id });
}

export const openClaims = () => all("claims");
