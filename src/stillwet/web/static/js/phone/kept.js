/** What the phone keeps: entries to send, the last stops heard of, who writes. In IndexedDB. */

const NAME = "stillwet-phone";
const STORES = ["outbox", "days", "self"];

/** In memory, where the browser gives no place to keep things. */
class Memory {
  isKept = false;
  #stores = Object.fromEntries(STORES.map((name) => [name, new Map()]));
  async put(store, key, value) { this.#stores[store].set(key, structuredClone(value)); }
  async get(store, key) { return this.#stores[store].get(key); }
  async all(store) { return [...this.#stores[store].values()]; }
  async change(store, key, how) {
    const found = this.#stores[store].get(key);
    if (found) this.#stores[store].set(key, how(found));
  }
  async remove(store, key) { this.#stores[store].delete(key); }
}

class Kept {
  isKept = true;
  #base;

  constructor(base) { this.#base = base; }

  /** Resolves only when the browser says that it is on the disk. */
  put(store, key, value) { return this.#write(store, (table) => table.put(value, key)); }

  /** Change a value in one step, so that two tabs never undo each other's. */
  change(store, key, how) {
    return this.#write(store, (table) => {
      const asked = table.get(key);
      asked.onsuccess = () => { if (asked.result) table.put(how(asked.result), key); };
    });
  }

  remove(store, key) { return this.#write(store, (table) => table.delete(key)); }
  get(store, key) { return this.#read(store, (table) => table.get(key)); }
  all(store) { return this.#read(store, (table) => table.getAll()); }

  #write(store, work) {
    return new Promise((done, failed) => {
      const step = this.#base.transaction(store, "readwrite", { durability: "strict" });
      step.oncomplete = () => done(undefined);
      step.onerror = step.onabort = () => failed(step.error ?? new Error("the browser did not keep it"));
      work(step.objectStore(store));
    });
  }

  #read(store, work) {
    return new Promise((done, failed) => {
      const asked = work(this.#base.transaction(store).objectStore(store));
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error);
    });
  }
}

/** Open what is kept; where that is not possible, memory that says so (`isKept` false). */
export async function openKept() {
  try {
    const base = await new Promise((done, failed) => {
      const asked = indexedDB.open(NAME, 1);
      asked.onupgradeneeded = () => STORES.forEach((name) => asked.result.createObjectStore(name));
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error);
    });
    base.onversionchange = () => base.close();
    const kept = new Kept(base);
    await kept.get("self", "self"); // one that is damaged opens, and fails only here
    navigator.storage?.persist?.().catch(() => false); // asks the browser not to clear it by itself
    return kept;
  } catch {
    return new Memory();
  }
}
