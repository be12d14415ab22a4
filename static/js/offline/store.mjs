// This tablet's own database, and the only file that opens it. A write has happened when its promise resolves: the
// transaction is then complete, and on the disk.
//   drafts   what is being typed, by batch and kind, or by form
//   outbox   finished records until the server has them, by id
//   kit      the last kit, under "kit"
//   shown    what this tablet knows of its own batches, by batch id; emptied when it is locked
//   claims   who said that they are at the tablet while nobody could ask for a PIN, by id
//   here     small facts: who is at the tablet, the counter of records, why sending pauses
const NAME = "drumside";
const VERSION = 2;
const STORES = ["drafts", "outbox", "kit", "shown", "claims", "here"];
const SLOW_MS = 5000;
// A tablet's system closes the database under the app when it has been away for a while: open it again, once.
const CLOSED = new Set(["InvalidStateError", "UnknownError", "AbortError"]);

let opening = null;
const failures = new WeakMap();

function open() {
  opening ??= opened(VERSION).catch((error) => {
    opening = null;
    // A newer build was here before; it only ever adds stores.
    if (error.name !== "VersionError") throw error;
    return (opening = opened());
  });
  return opening;
}

function opened(version) {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, version);
    // Nothing is ever made anew: what an older build kept stays.
    request.onupgradeneeded = () => {
      const db = request.result;
      for (const name of STORES) {
        if (!db.objectStoreNames.contains(name)) db.createObjectStore(name, name === "outbox" ? { keyPath: "id" } : {});
      }
    };
    request.onsuccess = () => {
      const db = request.result;
      const gone = () => (opening = null);
      db.onclose = gone;
      db.onversionchange = () => {
        db.close();
        gone();
      };
      resolve(db);
    };
    request.onerror = () => reject(request.error);
  });
}

function inOne(db, names, mode, work) {
  return new Promise((resolve, reject) => {
    const transaction = db.transaction(names, mode, { durability: "strict" });
    let found;
    transaction.oncomplete = () => resolve(found instanceof IDBRequest ? found.result : found);
    const why = () => failures.get(transaction) ?? transaction.error ?? new DOMException("stopped", "AbortError");
    transaction.onabort = () => reject(why());
    try {
      found = work(...names.map((name) => transaction.objectStore(name)));
    } catch (error) {
      reject(error);
      transaction.abort();
    }
  });
}

// Goes on with a request's result inside its transaction; what fails there ends the transaction with its own name.
export function after(request, work) {
  request.onsuccess = () => {
    try {
      work(request.result);
    } catch (error) {
      failures.set(request.transaction, error);
      request.transaction.abort();
    }
  };
}

// The same with every entry of a store in turn.
export function each(store, work) {
  after(store.openCursor(), (cursor) => {
    if (!cursor) return;
    work(cursor);
    cursor.continue();
  });
}

async function again(names, mode, work) {
  try {
    return await inOne(await open(), names, mode, work);
  } catch (error) {
    if (!CLOSED.has(error?.name)) throw error;
    opening = null;
    return inOne(await open(), names, mode, work);
  }
}

// Does `work(...stores)` in one transaction; gives the result of the request it returns. A database that does not
// answer is one that cannot keep anything.
export function within(names, mode, work) {
  let timer;
  const late = new Promise((_resolve, reject) => {
    timer = setTimeout(() => reject(new DOMException("no answer from the database", "TimeoutError")), SLOW_MS);
  });
  return Promise.race([again(names, mode, work), late]).finally(() => clearTimeout(timer));
}

export const get = (name, key) => within([name], "readonly", (store) => store.get(key));
export const all = (name) => within([name], "readonly", (store) => store.getAll());
// Ended here and not when the browser has come back to the page, which may be about to go.
export const put = (name, key, value) =>
  within([name], "readwrite", (store) => {
    const request = store.put(value, ...(key ? [key] : []));
    store.transaction.commit?.();
    return request;
  });
export const remove = (name, key) => within([name], "readwrite", (store) => store.delete(key));

// When somebody last touched the tablet on any of its tabs, by its clock; 0 where nobody knows. In localStorage, which
// every tab sees at once.
export const TOUCHED = "drumside-touched";

export function touchedAt() {
  try {
    return Number(localStorage.getItem(TOUCHED));
  } catch {
    return 0;
  }
}
