/** Alarms of the lines: told in words and by sound until somebody has heard. */

import { byId, make, mark } from "../dom.js";
import { heardIn } from "../heard.js";
import * as sound from "../sound.js";
import { WORDS } from "./words.js";

const AGAIN_MS = 30000; // an alarm nobody has heard sounds again
const heard = heardIn("line alarms heard");
const LOUD = new Set(["lag exceeded", "lit too late", "lit where it is not wet", "dry before the fire may come"]);

let current = [];

/** Make the sound button work and repeat what nobody has heard. */
export function startAlarms() {
  sound.startSound(byId("sound"), byId("sound-says"));
  setInterval(() => ring(heard.missing(current)), AGAIN_MS);
}

/** Show the alarms that there are; new ones ring. @param {any[]} alarms */
export function showAlarms(alarms) {
  const known = new Set(current.map((one) => one.id));
  ring(heard.missing(alarms).filter((one) => !known.has(one.id)));
  const same = JSON.stringify(alarms) === JSON.stringify(current);
  current = alarms;
  if (!same || !byId("alarms").hasChildNodes()) draw(); // drawn again only when it changed: it is read out
}

function draw() {
  const ordered = [...current].sort((a, b) => Number(LOUD.has(b.kind)) - Number(LOUD.has(a.kind)));
  byId("alarms").replaceChildren(...(ordered.length ? ordered.map(box) : [make("p", { text: WORDS.quiet })]));
}

function box(one) {
  const fresh = heard.missing([one]).length > 0;
  const shape = mark(LOUD.has(one.kind) ? "too late" : "look at it");
  const button = make("button", { type: "button", text: fresh ? WORDS.heard : WORDS.heardAlready, disabled: !fresh, on: { click: () => hear(one) } });
  const head = make("div", { class: "alarm-head" }, make("p", { class: "alarm-says" }, shape, ` ${one.says}`), button);
  return make("div", { class: fresh ? "alarm" : "alarm heard", "data-kind": one.kind }, head);
}

function hear(one) {
  heard.add([one]);
  draw();
}

function ring(alarms) {
  if (alarms.length) sound.play(alarms.some((one) => LOUD.has(one.kind)) ? "below demand before fire" : "coat due");
}
