/** Edits not yet sent, in the browser's own store: they outlive reload and crash. */

const NAME = "stillwet-desk";
const STORE = "edits";
const TYPING = "stillwet-typing";

let opened = null;
const memory = new Map(); // where the browser keeps no store (private windows)

function database() {
  opened ??= new Promise((resolve) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "id" });
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => resolve(null);
  }).catch(() => null);
  return opened;
}

async function within(mode, work) {
  const base = await database();
  if (!base) return work(null);
  return new Promise((resolve, reject) => {
    const change = base.transaction(STORE, mode, { durability: "strict" });
    const request = work(change.objectStore(STORE));
    change.oncomplete = () => resolve(request?.result);
    change.onerror = () => reject(change.error);
  });
}

/** Keep an edit until it is sent. @param {string} file @param {number} order @param {object} edit */
export function keepEdit(file, order, edit) {
  const record = { id: edit.id, file, order, edit };
  return within("readwrite", (store) => (store ? store.put(record) : void memory.set(edit.id, record)));
}

/** Let go of edits that the server has. @param {string[]} ids */
export function dropEdits(ids) {
  return within("readwrite", (store) => {
    for (const id of ids) store ? store.delete(id) : memory.delete(id);
  });
}

/** The edits kept for a job file, in their order. @param {string} file */
export async function keptEdits(file) {
  const all = (await within("readonly", (store) => (store ? store.getAll() : null))) ?? [...memory.values()];
  return all.filter((one) => one.file === file).sort((a, b) => a.order - b.order).map((one) => one.edit);
}

/** Remember, at once, what is being typed into one field. @param {string} file @param {object} edit */
export function typing(file, edit) {
  try {
    localStorage.setItem(TYPING, JSON.stringify({ file, edit }));
  } catch {
    // a browser without such a store: the pause after typing keeps it
  }
}

/** What was being typed is kept elsewhere now; another field's typing stays. @param {string} file @param {object} edit */
export function typingDone(file, edit) {
  const noted = wasTyping(file);
  if (noted && target(noted) === target(edit)) localStorage.removeItem(TYPING);
}

const target = (edit) => JSON.stringify([edit.kind, edit.key, edit.list, edit.row, Object.keys(edit.fields ?? {})]);

/** What was being typed when the page went away. @param {string} file */
export function wasTyping(file) {
  try {
    const found = JSON.parse(localStorage.getItem(TYPING) ?? "null");
    return found?.file === file ? found.edit : null;
  } catch {
    return null;
  }
}

const CARRIED = "stillwet-carried";

/** Keep a sentence over one loading of this page in this tab. @param {string} text */
export function carry(text) {
  try {
    sessionStorage.setItem(CARRIED, text);
  } catch {
    // a browser without such a store: the sentence is not said again, what it says is still so
  }
}

/** The sentence that was carried over, once; else "". */
export function carried() {
  try {
    const text = sessionStorage.getItem(CARRIED) ?? "";
    sessionStorage.removeItem(CARRIED);
    return text;
  } catch {
    return "";
  }
}
