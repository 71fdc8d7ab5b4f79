/** Alarms: told in words, by shape and by sound, until somebody has heard and it is over. */

import { byId, make, mark } from "../dom.js";
import { heardIn } from "../heard.js";
import * as sound from "../sound.js";
import { WORDS } from "./words.js";

const AGAIN_MS = 30000; // an alarm nobody has heard sounds again
const MARKS = { "lag exceeded": "too late", "below demand before fire": "too late", "coat due": "coat it now", "look at it": "look at it" };
const heard = heardIn("alarms heard");

let current = [];

/** Make the sound button work and repeat what nobody has heard. */
export function startAlarms() {
  sound.startSound(byId("sound"), byId("sound-says"));
  setInterval(() => ring(heard.missing(current)), AGAIN_MS);
}

/** Show the alarms that there are; new ones ring. @param {any[]} alarms */
export function showAlarms(alarms) {
  const known = new Set(current.map((one) => one.id));
  const same = JSON.stringify(alarms) === JSON.stringify(current);
  ring(heard.missing(alarms.filter((one) => !known.has(one.id))));
  current = alarms;
  if (!same || !byId("alarms").hasChildNodes()) draw(); // drawn again only when it changed: it is read out
}

function draw() {
  const groups = Object.keys(WORDS.alarms).map((kind) => current.filter((one) => one.kind === kind));
  const shown = groups.filter((group) => group.length).map(box);
  byId("alarms").replaceChildren(...(shown.length ? shown : [make("p", { text: WORDS.quiet })]));
}

function box(group) {
  const isNew = heard.missing(group).length > 0;
  const says = make("p", { class: "alarm-says" }, mark(MARKS[group[0].kind]), ` ${WORDS.alarms[group[0].kind](group.length)}`);
  const button = make("button", { type: "button", text: isNew ? WORDS.heard : WORDS.heardAlready, disabled: !isNew, on: { click: () => hear(group) } });
  const lines = group.map((one) => make("li", { text: one.says }));
  const first = make("p", { class: "alarm-first", text: group[0].says });
  const more = group.length > 1 ? make("details", {}, make("summary", { text: WORDS.all }), make("ul", {}, ...lines)) : null;
  return make("div", { class: isNew ? "alarm" : "alarm heard", "data-kind": group[0].kind }, make("div", { class: "alarm-head" }, says, button), first, more);
}

function hear(group) {
  heard.add(group);
  draw();
}

function ring(alarms) {
  if (alarms.length) sound.play(alarms[0].kind);
}
