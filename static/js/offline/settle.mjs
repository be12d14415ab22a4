// What a person settles on the page of what waits: a claim by its PIN, and a record that the server has otherwise.
import { freshToken, send } from "./ask.mjs";
import { add, note, tell, waiting } from "./outbox.mjs";
import { within } from "./store.mjs";

// The same content under a number of its own, where the server has other content under the old one.
export async function asNew(entry) {
  const id = crypto.randomUUID();
  await within(["outbox", "here"], "readwrite", (outbox, here) => {
    outbox.delete(entry.id);
    add(outbox, here, { ...entry, id, form: { ...entry.form, id } });
  });
  tell({ state: "saved", id });
}

// The person's PIN for a claim. {ok}, or {message} with the server's words; throws Stop when it cannot be asked.
export async function confirm(id, pin) {
  const { status, body } = await send(`/claims/${id}/confirm`, await freshToken(), { pin });
  if (status !== 200) return { ok: false, message: body.message ?? "", status };
  await settled([id]);
  return { ok: true };
}

// Claims that the server knows to be confirmed: what waited for them can go.
export async function settled(ids) {
  await within(["claims"], "readwrite", (claims) => {
    for (const id of ids) claims.delete(id);
  });
  const held = (await waiting()).filter((entry) => ids.includes(entry.claim_id) && entry.answer?.status === 403);
  await note(held, () => ({ state: "saved", answer: null, next_at: 0 }));
  tell({ claims: ids });
}
