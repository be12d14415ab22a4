// What waits, as a file that another tablet can take in: a line that says what it is, a line for each entry, and a
// last line with the SHA-256 of all bytes before it. Each line is JSON.
import { BUILD, tell, toRecord } from "./outbox.mjs";
import { after, within } from "./store.mjs";

const WHAT = "drumside waiting records";
const FORMAT = 1;
const NOTED = ["state", "saved_at", "build", "who", "about", "answer"];
const ID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

async function sum(text) {
  const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text)));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

export async function toText(entries) {
  const head = { what: WHAT, format: FORMAT, made_at: new Date().toISOString(), build: BUILD, count: entries.length };
  const noted = (entry) => Object.fromEntries(NOTED.filter((name) => name in entry).map((name) => [name, entry[name]]));
  const lines = [head, ...entries.map((entry) => ({ record: toRecord(entry), noted: noted(entry) }))];
  const text = lines.map((line) => `${JSON.stringify(line)}\n`).join("");
  return `${text}${JSON.stringify({ sha256: await sum(text) })}\n`;
}

// Entries from a file's text. Throws "other" for a file of another kind, "broken" for one that is not whole.
export async function fromText(text) {
  const end = text.trimEnd().lastIndexOf("\n") + 1;
  const [body, last] = [text.slice(0, end), text.slice(end)];
  let head, lines, sha256;
  try {
    [head, ...lines] = body.trimEnd().split("\n").map((line) => JSON.parse(line));
    ({ sha256 } = JSON.parse(last));
  } catch {
    throw new Error(text.includes(WHAT) ? "broken" : "other");
  }
  if (head?.what !== WHAT) throw new Error("other");
  const good = (line) => ID.test(line.record?.id) && line.record.kind && typeof line.record.form === "object";
  if (sha256 !== (await sum(body)) || head.count !== lines.length || !lines.every(good)) throw new Error("broken");
  return lines.map(({ record, noted }) => ({ ...noted, ...record }));
}

// Entries of another tablet's file: those that are not here yet, with the numbers that their own tablet gave them.
export async function takeIn(entries) {
  let added = 0;
  await within(["outbox"], "readwrite", (outbox) => {
    for (const entry of entries) {
      after(outbox.getKey(entry.id), (there) => {
        if (there !== undefined) return;
        added += 1;
        const state = entry.state === "aside" ? "aside" : "saved";
        const saved_at = Number.isNaN(Date.parse(entry.saved_at)) ? new Date().toISOString() : entry.saved_at;
        outbox.put({ ...entry, saved_at, state, answer: null, tries: 0, next_at: 0 });
      });
    }
  });
  tell({ state: "saved" });
  return added;
}

export async function saveFile(entries) {
  const stamp = new Date().toISOString().slice(0, 16).replace(/[-:]/g, "").replace("T", "-");
  const url = URL.createObjectURL(new Blob([await toText(entries)], { type: "application/x-ndjson" }));
  const link = Object.assign(document.createElement("a"), { href: url, download: `waiting-${stamp}.jsonl` });
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

export const takeFile = async (file) => takeIn(await fromText(await file.text()));
