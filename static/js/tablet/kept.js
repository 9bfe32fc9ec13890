// What this tablet keeps, in IndexedDB: packs of visits, their screens, and the entries on their way to the office.
// A write counts only once its transaction is complete, with strict durability where the browser offers it.

let opened = null;

function open() {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open("ohmstead", 1);
    asked.onupgradeneeded = () => {
      const database = asked.result;
      database.createObjectStore("packs", { keyPath: "visit" });
      database.createObjectStore("screens", { keyPath: "at" });
      database.createObjectStore("entries", { keyPath: "place", autoIncrement: true });
      database.createObjectStore("notes", { keyPath: "name" });
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      asked.result.onclose = () => { opened = null; };
      done(asked.result);
    };
    asked.onerror = () => failed(asked.error);
    asked.onblocked = () => failed(new Error("Another window keeps the store of this tablet open."));
  });
  opened.catch(() => { opened = null; });
  return opened;
}

// One transaction: deed gets the stores by name, and what its request gives is given once everything is kept.
async function within(names, mode, deed) {
  const database = await open();
  return new Promise((done, failed) => {
    let transaction;
    try {
      transaction = database.transaction(names, mode, { durability: mode === "readwrite" ? "strict" : "default" });
    } catch (closed) {
      opened = null;
      failed(closed);
      return;
    }
    const request = deed(Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)])));
    transaction.oncomplete = () => done(request ? request.result : undefined);
    transaction.onabort = () => failed(transaction.error || new Error("Nothing was kept."));
  });
}

export const all = (name) => within([name], "readonly", (stores) => stores[name].getAll());
export const find = (name, key) => within([name], "readonly", (stores) => stores[name].get(key));
export const put = (name, value) => within([name], "readwrite", (stores) => stores[name].put(value));
export const remove = (name, key) => within([name], "readwrite", (stores) => stores[name].delete(key));
export const putAll = (name, values) => within([name], "readwrite", (stores) => { values.forEach((value) => stores[name].put(value)); });
export const removeAll = (name, keys) => within([name], "readwrite", (stores) => { keys.forEach((key) => stores[name].delete(key)); });

// Change some values of a store as they stand, in one transaction. deed gives the new value, or nothing to leave it.
export const change = (name, deed) => within([name], "readwrite", (stores) => {
  stores[name].openCursor().onsuccess = (event) => {
    const cursor = event.target.result;
    if (!cursor) return;
    const changed = deed(cursor.value);
    if (changed) cursor.update(changed);
    cursor.continue();
  };
});

// Forget everything of visits, but never an entry.
export const forgetPacks = () => within(["packs", "screens"], "readwrite", (stores) => {
  stores.packs.clear();
  stores.screens.clear();
});

// Whether this browser keeps anything at all; the sentence that says why not, else nothing.
export async function whyNot() {
  if (!("indexedDB" in window)) return "This browser keeps nothing";
  try {
    await put("notes", { name: "tried", at: Date.now() });
    return "";
  } catch (problem) {
    return problem && problem.name === "QuotaExceededError" ? "The storage of this tablet is full" : "This browser does not let us keep anything";
  }
}

// A key of our own, also where the page came without HTTPS and crypto.randomUUID is missing.
export function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
