/** The crew's phone: its stops one at a time, its log, its outbox. Works on without a network. */

import { get, Refused, Unreachable } from "../api.js";
import { byId } from "../dom.js";
import { newId } from "../ids.js";
import { listen } from "../live.js";
import { now, shortTime } from "../times.js";
import { ClockCheck } from "./clock.js";
import { makeEntry } from "./entry.js";
import { openKept } from "./kept.js";
import { conflictWords, laidFaces, logRows, logView } from "./log.js";
import { Outbox, within } from "./outbox.js";
import { askEntry, askName, askSure } from "./sheet.js";
import { rememberSwitches, startWorker } from "./shell.js";
import { showTimeLeft, stopView } from "./stop.js";
import { showLines, showVerbs } from "./lines.js";
import { WORDS } from "./words.js";

const GIVE_UP_MS = 12000;
const SOON_MS = 3000; // many phones hear of one entry: they do not all ask at once
const CREW = byId("phone").dataset.crew;
const kept = await openKept();
const clock = new ClockCheck();
const outbox = new Outbox(kept, show);
const self = await ownSelf();
let day = (await kept.get("days", CREW)) ?? null;
let at = Number(sessionStorage.getItem(`stop ${CREW}`) ?? 0);
let isFresh = false;
let refusal = ""; // why the server gave no stops, where it did answer
let soon = null;
let list = [];

async function ownSelf() {
  const found = (await kept.get("self", "self")) ?? { device: `phone ${newId().slice(0, 4)}`, writer: "" };
  await kept.put("self", "self", found);
  return found;
}

const units = () => document.documentElement.dataset.units ?? "us";
const writer = () => self.writer || (day?.person && day.person !== "this machine" ? day.person : day?.crew.name) || CREW;

async function refresh() {
  try {
    day = await within(get(`/api/crew/${encodeURIComponent(CREW)}`), GIVE_UP_MS);
    day.heard = now();
    isFresh = true;
    refusal = "";
    await kept.put("days", CREW, day);
    outbox.job = day.job;
    outbox.sendNow();
    await clock.ask(self.device);
  } catch (error) {
    isFresh = false;
    refusal = error instanceof Refused ? error.message : "";
    if (error instanceof Refused && error.status === 401) outbox.trouble = WORDS.join;
    if (!(error instanceof Refused || error instanceof Unreachable)) console.error(error);
  }
  await show();
}

/** Ask anew soon, once for all that is heard of until then. */
function refreshSoon() {
  soon ??= setTimeout(() => { soon = null; refresh(); }, SOON_MS * Math.random());
}

async function show() {
  const rows = await outbox.all();
  const own = rows.filter((row) => day && row.job === day.job);
  list = day ? logRows(day, own, units()).map((row) => ({ ...row, troubles: [...(row.troubles ?? []), ...conflictWords(row)] })) : [];
  if (day) showDay();
  byId("writer").textContent = writer();
  byId("log").replaceChildren(...logView(list, { correct, back: takeBack, discard: (row) => outbox.discard(row.id) }));
  showLines({ day, rows, own, list, outbox, clock, kept, refusal, heard: isFresh || !day ? "" : shortTime(day.heard) });
}

function showDay() {
  at = Math.max(0, Math.min(at, day.stops.length - 1));
  byId("crew-name").textContent = day.crew.name;
  byId("stop").replaceChildren(...stopView(day, at, units(), laidFaces(list)));
  showTimeLeft(byId("stop"));
  byId("back").disabled = at <= 0;
  byId("next").disabled = at >= day.stops.length - 1;
}

function turn(step) {
  at += step;
  sessionStorage.setItem(`stop ${CREW}`, String(at));
  showDay();
  byId("stop").scrollIntoView({ block: "start" });
}

/** What the forms are told: the stop's faces first, of a correction what was said before. */
function hereFor(before, kind) {
  const stop = day?.stops[at];
  const ids = new Set(before?.faces.length ? before.faces : stop?.faces ?? []);
  const faces = (day?.faces ?? []).filter((face) => ids.has(face.id));
  const { asked, coats } = day.inputs[units()];
  const told = before?.own?.entry ?? (before ? { feel: before.feel, note: before.note } : {});
  const chosen = before || kind !== "check" ? ids : new Set();
  return { job: day.job, crew: CREW, faces, others: day.faces.filter((face) => !ids.has(face.id)), chosen, told, asked, coats, before };
}

function write(kind) {
  const here = hereFor(null, kind);
  askEntry(kind, here, (told) => keep(told, null, here.job));
}

function correct(row) {
  const here = hereFor(row, row.kind);
  askEntry(row.kind, here, async (told) => {
    const refused = row.state === WORDS.state.refused;
    await keep(told, refused ? row.own.entry.replaces ?? null : row.id, here.job);
    if (refused) await outbox.discard(row.id);
  });
}

function takeBack(row) {
  const { job } = day;
  askSure(WORDS.takeBack, `${WORDS.reallyBack} ${row.says}`, WORDS.yesBack, () => keep([{ kind: "withdrawn" }], row.id, job));
}

/**
 * The first entry corrects; what else was told beside it is new. They are of the job whose faces the
 * form showed, also when the server has opened another since.
 */
async function keep(told, replaces, job) {
  const me = { writer: writer(), device: self.device };
  await outbox.add(told.map((one, place) => makeEntry(one, me, place ? null : replaces)), job);
}

function rename() {
  askName(writer(), async (name) => {
    self.writer = name;
    await kept.put("self", "self", self);
    await show();
  });
}

byId("back").addEventListener("click", () => turn(-1));
byId("next").addEventListener("click", () => turn(1));
byId("rename").addEventListener("click", rename);
document.addEventListener("units", show);
showVerbs(write);
rememberSwitches();
outbox.job = day?.job ?? null;
await show();
await refresh();
listen(refreshSoon, (isUp) => { if (!isUp) { isFresh = false; show(); } else { refresh(); } });
setInterval(() => showTimeLeft(byId("stop")), 10000);
await startWorker();
document.body.dataset.ready = "yes";
