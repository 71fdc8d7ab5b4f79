/** The outbox: keeps each entry before anything else, then sends until the server has it. */

import { Refused, send, Unreachable } from "../api.js";
import { WORDS } from "./words.js";

const FIRST_WAIT_MS = 2000;
const LONGEST_WAIT_MS = 60000;
const GIVE_UP_MS = 12000; // on an answer, where a weak network swallows it; then it is tried again
const AT_ONCE = 100;
const BECAME = { kept: "sent", "already here": "sent", conflict: "conflict", refused: "refused" };

/**
 * Entries kept on the phone, each {entry, job, state, problems}. States: here, sent, conflict,
 * refused. Several tabs share one outbox: an entry sent by two of them is kept once by the server,
 * which goes by its id.
 */
export class Outbox {
  #kept; #wait = FIRST_WAIT_MS; #timer = 0; #busy = false; #again = false;
  #tabs = new BroadcastChannel("stillwet-outbox");
  #tell;

  /** Words for what holds it up; empty while it is sending or has nothing to send. */
  trouble = "";
  /** The job that the server has open; null until it has said so. @type {string|null} */
  job = null;

  /** @param {any} kept @param {() => void} tell is called after every change, also of other tabs */
  constructor(kept, tell) {
    this.#kept = kept;
    this.#tell = tell;
    this.#tabs.addEventListener("message", tell);
    addEventListener("online", () => this.sendNow());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.sendNow(); });
  }

  /** Everything kept, in the order it was written. */
  async all() {
    const rows = await this.#kept.all("outbox");
    return rows.sort((a, b) => a.number - b.number);
  }

  /** Keep entries; when this resolves, the phone has them. @param {any[]} entries @param {string} job */
  async add(entries, job) {
    let number = Date.now();
    for (const entry of entries) {
      await this.#kept.put("outbox", entry.id, { entry, job, state: "here", problems: [], number: number++ });
    }
    this.#changed();
    this.sendNow();
  }

  /** Forget an entry that the server refused. @param {string} id */
  async discard(id) {
    await this.#kept.remove("outbox", id);
    this.#changed();
  }

  /** Send now, and wait as briefly as at first should it fail. */
  sendNow() {
    this.#wait = FIRST_WAIT_MS;
    this.#send();
  }

  async #send() {
    clearTimeout(this.#timer);
    if (this.#busy) { this.#again = true; return; }
    this.#busy = true;
    try {
      await this.#sendAll();
      this.trouble = "";
      this.#wait = FIRST_WAIT_MS;
    } catch (error) {
      this.trouble = troubleWords(error);
      this.#timer = setTimeout(() => this.#send(), this.#wait * (0.75 + Math.random() / 2));
      this.#wait = Math.min(2 * this.#wait, LONGEST_WAIT_MS);
    } finally {
      this.#busy = false;
    }
    this.#tell();
    if (this.#again) { this.#again = false; this.#send(); }
  }

  async #sendAll() {
    if (this.job === null) return;
    for (;;) {
      const waiting = (await this.all()).filter((row) => row.state === "here" && row.job === this.job);
      if (!waiting.length) return;
      const entries = waiting.slice(0, AT_ONCE).map((row) => row.entry);
      const answer = await within(send("/api/log", { job: this.job, entries }), GIVE_UP_MS);
      // In the order they were sent: an id that cannot be read comes back empty.
      for (const [place, { became, problems }] of answer.entries.entries()) {
        const state = BECAME[became] ?? "refused";
        await this.#kept.change("outbox", entries[place].id, (row) => ({ ...row, state, problems }));
      }
      this.#changed();
    }
  }

  #changed() {
    this.#tabs.postMessage("changed");
    this.#tell();
  }
}

/** The answer, or Unreachable after so long. */
export function within(answer, most) {
  let timer;
  const late = new Promise((_, failed) => { timer = setTimeout(() => failed(new Unreachable("no answer")), most); });
  return Promise.race([answer, late]).finally(() => clearTimeout(timer));
}

function troubleWords(error) {
  if (error instanceof Unreachable) return WORDS.noLine;
  if (!(error instanceof Refused)) return String(error.message ?? error);
  if (error.status === 401) return WORDS.join;
  if (error.status === 403) return WORDS.mayNot;
  if (error.status === 409) return WORDS.jobChanged;
  return WORDS.serverSays(error.message);
}
