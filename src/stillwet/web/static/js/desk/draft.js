/** The draft in this browser: what the server has, with what is not yet sent laid over it. */

import { get, Refused, send, Unreachable } from "../api.js";
import { newId } from "../ids.js";
import { dropEdits, keepEdit, keptEdits, typing, typingDone, wasTyping } from "./keep.js";
import { WORDS } from "./words.js";

const CHECK_AFTER_MS = 500;
const AGAIN_MS = 3000;
const PASSING = new Set([401, 403, 408, 429]); // joined no more, may not now, too slow, too often

/** @type {any} `noCheck`: why there is no check */
export const desk = { draft: null, form: null, check: null, noCheck: "", unsent: [], says: "" };
const listeners = new Set();
let order = 0;
let sending = null;

/** Hear of every change of the draft, the check or what is said. @param {() => void} heard */
export const onDesk = (heard) => listeners.add(heard);

const tell = () => listeners.forEach((heard) => heard());

/** Read form and draft; edits that another page left unsent are taken up. */
export async function open() {
  const units = document.documentElement.dataset.units;
  [desk.form, desk.draft] = await Promise.all([get(`/api/draft/form?units=${units}`), get("/api/draft")]);
  desk.unsent = await keptEdits(desk.draft.file);
  const left = wasTyping(desk.draft.file);
  if (left && !desk.unsent.some((one) => one.id === left.id)) desk.unsent.push(left);
  desk.unsent.forEach(apply);
  await flush();
  checkSoon(0);
}

/** The forms again, in other units. */
export async function openForm() {
  desk.form = await get(`/api/draft/form?units=${document.documentElement.dataset.units}`);
  tell();
}

/** Note what is being typed, so that even a crash keeps it. @param {any} edit without an id */
export function noteTyping(edit) {
  typing(desk.draft.file, { id: newId(), ...edit });
}

/** An edit made: shown at once, kept in the browser, sent. @param {any} edit without an id */
export async function commit(edit) {
  const whole = { id: newId(), ...edit };
  apply(whole);
  desk.unsent.push(whole);
  desk.says = WORDS.keeping;
  tell();
  // A browser that keeps nothing more still sends: that is the better place.
  await keepEdit(desk.draft.file, (order += 1) + Date.now(), whole).catch(() => undefined);
  typingDone(desk.draft.file, whole);
  await flush();
  checkSoon();
}

/** Send all that is not yet sent, in order. */
export function flush() {
  sending ??= sendAll().finally(() => (sending = null));
  return sending;
}

async function sendAll() {
  while (desk.unsent.length) {
    const batch = desk.unsent.slice(0, 200);
    desk.says = WORDS.keeping;
    try {
      await send("/api/draft/edits", { edits: batch });
      await done(batch);
    } catch (error) {
      if (mayPass(error)) return waitForServer(error);
      if (!(error instanceof Refused)) throw error;
      return sendOneByOne(batch);
    }
  }
  desk.says = WORDS.saved;
  await reread();
  if (desk.unsent.length) await sendAll(); // typed while the answer was on its way
}

/** Nothing is wrong with what was typed: it is kept and sent again. @param {any} error */
function mayPass(error) {
  if (error instanceof Unreachable) return true;
  return error instanceof Refused && (error.status >= 500 || PASSING.has(error.status));
}

async function sendOneByOne(batch) {
  for (const one of batch) {
    try {
      await send("/api/draft/edits", { edits: [one] });
    } catch (error) {
      if (mayPass(error) || !(error instanceof Refused)) return waitForServer(error);
      desk.says = WORDS.refused(error.message);
    }
    await done([one]);
  }
  const says = desk.says;
  await reread();
  desk.says = says;
  tell();
  if (desk.unsent.length) await sendAll();
}

async function done(batch) {
  const ids = batch.map((one) => one.id);
  desk.unsent = desk.unsent.filter((one) => !ids.includes(one.id));
  batch.forEach((one) => typingDone(desk.draft.file, one));
  await dropEdits(ids);
}

function waitForServer(error) {
  desk.says = WORDS.waiting(desk.unsent.length, error instanceof Refused ? error.message : WORDS.noLine);
  tell();
  clearTimeout(waitForServer.timer);
  waitForServer.timer = setTimeout(flush, AGAIN_MS);
}

/** The draft from the server, with what is unsent laid over it. */
export async function reread() {
  const found = await get("/api/draft").catch(() => null);
  if (found) {
    desk.draft = found;
    desk.unsent.forEach(apply);
  }
  tell();
}

/** Withdraw the last edit, or bring it back. @param {"undo"|"redo"} which */
export async function back(which) {
  await flush();
  try {
    await send(`/api/draft/${which}`, { id: newId() });
  } catch (error) {
    desk.says = WORDS.notDone(error.message);
    tell();
    return;
  }
  await reread();
  checkSoon(0);
}

/** Ask for the check once typing pauses. @param {number} [wait] */
export function checkSoon(wait = CHECK_AFTER_MS) {
  clearTimeout(checkSoon.timer);
  checkSoon.timer = setTimeout(async () => {
    if (desk.unsent.length) return;
    try {
      desk.check = await get("/api/draft/check");
      desk.noCheck = "";
    } catch (error) {
      desk.noCheck = error.message;
    }
    tell();
  }, wait);
}

/** Problems of a spot. @param {(spot: any) => boolean} fits */
export const problemsAt = (fits) => (desk.check?.problems ?? []).filter((one) => fits(one.spot));

/** The step that a spot belongs to. @param {any} spot */
export function stepOf(spot) {
  const name = spot.list || spot.key.split(".")[0];
  return desk.form.steps.find((step) => step.parts.some((part) => [part.section, part.list, part.slot].includes(name))) ?? desk.form.steps[0];
}

function apply(edit) {
  const { texts, lists, files } = desk.draft;
  if (edit.kind === "text") {
    if (edit.text) texts[edit.key] = edit.text;
    else delete texts[edit.key];
  } else if (edit.kind === "file") delete files[edit.slot];
  else if (edit.kind === "remove") lists[edit.list] = lists[edit.list].filter((one) => one.row !== edit.row);
  else {
    let row = lists[edit.list].find((one) => one.row === edit.row);
    if (!row) lists[edit.list].push((row = { row: edit.row, fields: {}, shape: "" }));
    Object.assign(row.fields, edit.fields);
    for (const [name, text] of Object.entries(row.fields)) if (!text) delete row.fields[name];
    if (typeof edit.shape === "string") row.shape = edit.shape;
  }
}
