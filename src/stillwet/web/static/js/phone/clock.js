/** The phone's clock held against the server's. */

import { send } from "../api.js";
import { within } from "./outbox.js";
import { WORDS } from "./words.js";

const EVERY_MS = 300000;
const MOST_MS = 5000; // a slower answer says nothing about the clocks
const TELL_S = 60;

/** Asks at most every five minutes, and says how far the clocks are apart. */
export class ClockCheck {
  #asked = 0;

  /** By how many seconds the phone is ahead; null before the server has told. @type {number|null} */
  ahead = null;

  /** @param {string} device */
  async ask(device) {
    if (Date.now() - this.#asked < EVERY_MS) return;
    const from = Date.now();
    this.#asked = from;
    try {
      const told = await within(send("/api/clock", { device, now: new Date(from).toISOString() }), MOST_MS);
      this.ahead = told.ahead_s + (Date.now() - from) / 2000; // it was read half way there and back
    } catch {
      this.#asked = 0; // no answer, or not allowed to: asked again when the line is up
    }
  }

  /** In words; empty when the clocks agree to a minute. */
  words() {
    if (this.ahead === null || Math.abs(this.ahead) < TELL_S) return "";
    const minutes = Math.round(Math.abs(this.ahead) / 60);
    const time = minutes < 120 ? `${minutes} min` : `${Math.round(minutes / 60)} h`;
    return WORDS.clock(this.ahead > 0 ? WORDS.ahead(time) : WORDS.behind(time));
  }
}
