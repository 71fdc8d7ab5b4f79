/** The list of what was logged: the server's entries and those still on this phone, newest first. */

import { words } from "../api.js";
import { make } from "../dom.js";
import { shortTime } from "../times.js";
import { facesOf, saysOf } from "./entry.js";
import { WORDS } from "./words.js";

/**
 * One list of both. A row of the outbox goes once the server's list has its entry.
 * @param {any} day @param {any[]} rows of the outbox, of this job @param {string} units
 */
export function logRows(day, rows, units) {
  const known = new Set(day.log.seen);
  const mine = new Map(rows.map((row) => [row.entry.id, row]));
  const replaced = new Set(rows.filter((row) => row.state !== "refused").map((row) => row.entry.replaces).filter(Boolean));
  const names = new Map(day.faces.map((face) => [face.id, face.label]));
  const theirs = day.log.entries
    .filter((one) => !replaced.has(one.id))
    .map((one) => ({ ...one, says: one.says[units], state: stateOf(one, mine.get(one.id)), own: mine.get(one.id) }));
  const waiting = rows
    .filter((row) => !known.has(row.entry.id) || row.state === "refused")
    .filter((row) => !replaced.has(row.entry.id) && (row.entry.kind !== "withdrawn" || row.state === "refused"))
    .map((row) => ofPhone(row, (face) => names.get(face) ?? face));
  return [...waiting, ...theirs].sort((a, b) => Date.parse(b.when) - Date.parse(a.when));
}

/** Which faces have a coat logged, when and in which state. @param {any[]} list of `logRows` */
export function laidFaces(list) {
  const found = new Map();
  for (const row of list) {
    if (row.kind !== "coat" || row.state === WORDS.state.refused) continue;
    for (const face of row.faces) if (!found.has(face)) found.set(face, row);
  }
  return found;
}

/**
 * @param {any[]} list @param {{correct: (row: any) => void, back: (row: any) => void, discard: (row: any) => void}} acts
 * @returns {Node[]}
 */
export function logView(list, acts) {
  if (!list.length) return [make("li", {}, make("p", { text: WORDS.empty }))];
  return list.map((row) => make("li", { "data-id": row.id },
    make("p", {}, make("strong", { text: row.clock }), " ", make("span", { class: "state", "data-state": row.state, text: row.state })),
    make("p", { text: row.says + (row.note ? `; "${row.note}"` : "") }),
    make("p", { class: "phone-note", text: WORDS.by(row.by, row.device) }),
    ...row.troubles.map((text) => make("p", { class: "problems", text })),
    make("div", { class: "row" }, ...buttons(row, acts))));
}

function buttons(row, acts) {
  const button = (text, act) => make("button", { type: "button", text, "aria-label": `${text}: ${row.says}`, on: { click: () => act(row) } });
  const found = WORDS.titles[row.kind] ? [button(WORDS.correct, acts.correct)] : [];
  return [...found, row.state === WORDS.state.refused ? button(WORDS.discard, acts.discard) : button(WORDS.takeBack, acts.back)];
}

function stateOf(one, row) {
  if (one.state === "at odds" || row?.state === "conflict") return WORDS.state.conflict;
  return WORDS.state.sent;
}

function ofPhone(row, nameOf) {
  const { entry } = row;
  return {
    id: entry.id, kind: entry.kind, when: entry.when, clock: shortTime(Date.parse(entry.when)),
    says: saysOf(entry, nameOf, WORDS), by: entry.by, device: "", note: entry.note ?? "", faces: facesOf(entry),
    state: WORDS.state[row.state], own: row, troubles: row.problems.map(words),
  };
}

/** Why an entry is a conflict, in words. @param {any} row */
export function conflictWords(row) {
  if (row.state !== WORDS.state.conflict) return [];
  return [row.own?.state === "conflict" ? WORDS.otherId : WORDS.atOdds];
}
