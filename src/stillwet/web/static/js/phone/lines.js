/** The lines at the top in words: what is still here, what needs a look, how old the page is. */

import { byId, make } from "../dom.js";
import { WORDS } from "./words.js";

const FIRST = new Set(["coat", "check"]); // always on the screen, at its lower edge

/** The buttons that open a form. @param {(kind: string) => void} write */
export function showVerbs(write) {
  const buttons = Object.entries(WORDS.verbs).map(([kind, text]) =>
    make("button", { type: "button", class: FIRST.has(kind) ? "main" : null, "data-verb": kind, text, on: { click: () => write(kind) } }));
  byId("verbs").replaceChildren(...buttons.filter((one) => FIRST.has(one.dataset.verb)));
  byId("verbs-more").replaceChildren(...buttons.filter((one) => !FIRST.has(one.dataset.verb)));
}

/** @param {any} told see phone.js */
export function showLines({ day, rows, own, list, outbox, clock, kept, refusal, heard }) {
  const line = byId("outbox-state");
  const waiting = own.filter((row) => row.state === "here").length;
  const elsewhere = rows.filter((row) => row.state === "here" && !own.includes(row)).length;
  const look = list.filter((row) => row.state === WORDS.state.conflict || row.state === WORDS.state.refused).length;
  for (const button of document.querySelectorAll("[data-verb]")) button.disabled = !day;
  const mustJoin = outbox.trouble === WORDS.join;
  const parts = day ? [] : [mustJoin ? WORDS.join : refusal ? WORDS.serverSays(refusal) : WORDS.never];
  if (waiting) parts.push(WORDS.waiting(waiting, outbox.trouble || (heard ? WORDS.noLine : WORDS.sending)));
  if (look) parts.push(WORDS.look(look));
  if (elsewhere) parts.push(WORDS.otherJob(elsewhere));
  if (!waiting && mustJoin) parts.push(WORDS.serverSays(WORDS.join));
  if (!parts.length) parts.push(own.length ? WORDS.allSent : WORDS.nothingYet);
  if (!kept.isKept) parts.push(WORDS.notKept);
  line.dataset.state = look ? "look" : waiting || elsewhere ? "waiting" : "clear";
  say(line, parts.join(" "));
  note("clock-state", clock.words());
  note("age-state", !heard ? "" : refusal && !mustJoin ? WORDS.ageRefused(refusal, heard) : WORDS.age(heard));
}

/** Spoken only when it changes. */
function say(line, text) {
  if (line.textContent !== text) line.textContent = text;
}

function note(id, text) {
  const line = byId(id);
  say(line, text);
  line.hidden = !text;
}
