/** What is typed, kept in this browser (IndexedDB) until it is saved; nothing is lost on reload. */

const STORE = "typed";
const NAME = "stillwet typing";

let opening = null;

function open() {
  opening ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.addEventListener("upgradeneeded", () => asked.result.createObjectStore(STORE));
    asked.addEventListener("success", () => resolve(asked.result));
    asked.addEventListener("error", () => reject(asked.error));
  });
  return opening;
}

function whole(key) {
  return `${document.querySelector(".top-name")?.textContent ?? ""}: ${key}`;
}

async function run(mode, work) {
  const store = (await open()).transaction(STORE, mode).objectStore(STORE);
  const asked = work(store);
  return new Promise((resolve, reject) => {
    asked.addEventListener("success", () => resolve(asked.result));
    asked.addEventListener("error", () => reject(asked.error));
  });
}

/** Keep a plain value under a key of this job. @param {string} key @param {any} value */
export async function keep(key, value) {
  await run("readwrite", (store) => store.put(value, whole(key))).catch(() => undefined);
}

/** What was kept, or the other value. @param {string} key @param {any} otherwise */
export async function kept(key, otherwise) {
  return (await run("readonly", (store) => store.get(whole(key))).catch(() => undefined)) ?? otherwise;
}
