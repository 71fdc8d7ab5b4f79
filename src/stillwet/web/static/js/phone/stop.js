/** One stop of the crew, filling the screen: what, where, when by, coat, ratio, amounts, hazards. */

import { make } from "../dom.js";
import { now } from "../times.js";
import { WORDS } from "./words.js";

const MINUTE_MS = 60000;

/**
 * @param {any} day what the server told last @param {number} at index of the stop
 * @param {string} units @param {Map<string, {clock: string, state: string}>} laid by face
 * @returns {Node[]}
 */
export function stopView(day, at, units, laid) {
  if (!day.stops.length) {
    const text = day.words ? WORDS.noStops : WORDS.noPlan;
    return [make("h2", { id: "stop-title", text: day.crew.name }), make("p", { text })];
  }
  const stop = day.stops[at];
  const words = day.words[units].stops[at];
  const first = at === 0 ? beforeFirst(day.words[units].before) : null;
  const parts = [
    make("div", { class: "stop-head" },
      make("p", { class: "stop-count", text: WORDS.stopOf(stop.number, day.stops.length) }),
      make("h2", { id: "stop-title", text: (stop.must ? `${WORDS.must}: ` : "") + words.name })),
    make("p", { class: "stop-work", text: [words.work, words.ratio].filter(Boolean).join(" ") }),
    words.gone_by ? make("p", { class: "gone-by", "data-by": stop.leave_by, text: WORDS.goneBy(words.gone_by) }) : null,
    times(words),
    words.needs.length ? make("p", { text: WORDS.needs(words.needs.join(", ")) }) : null,
    words.turn ? make("p", { class: "stop-warn", text: words.turn }) : null,
    faces(stop, words, laid),
    hazards(words),
    make("p", { text: details(words) }),
    words.chance ? make("p", { class: "phone-note", text: WORDS.chance(words.chance) }) : null,
    words.note ? make("p", { text: words.note }) : null,
    first,
  ];
  return parts.filter((part) => part !== null);
}

/** Say how long is left until a crew has to be gone. @param {ParentNode} where */
export function showTimeLeft(where) {
  for (const line of where.querySelectorAll(".gone-by")) {
    const left = Date.parse(line.dataset.by) - now();
    const clock = line.dataset.words ?? line.textContent;
    line.dataset.words = clock;
    line.classList.toggle("past", left < 0);
    line.textContent = `${clock}: ${left < 0 ? WORDS.pastTime : timeLeft(left)}`;
  }
}

function timeLeft(ms) {
  const minutes = Math.floor(ms / MINUTE_MS);
  return minutes < 120 ? WORDS.leftTime(minutes) : WORDS.leftHours(Math.floor(minutes / 60), minutes % 60);
}

function times(words) {
  const cells = [words.arrive, words.start, words.done].map((time, at) =>
    make("div", {}, make("dt", { text: WORDS.times[at] }), make("dd", { text: time })));
  return make("dl", { class: "stop-times" }, ...cells);
}

function faces(stop, words, laid) {
  if (!words.faces.length) return null;
  const rows = words.faces.map((face, at) => {
    const done = laid.get(stop.faces[at]);
    return make("li", {},
      make("strong", { text: face.label }),
      make("span", { text: [face.coat, face.share, face.amount].filter(Boolean).join(", ") }),
      done ? make("span", { class: "done", text: WORDS.laid(done.clock, done.state) }) : null);
  });
  return make("ul", { class: "stop-faces" }, ...rows);
}

function hazards(words) {
  if (!words.cautions.length) return null;
  const rows = words.cautions.map((text) => make("li", { text }));
  return make("div", { class: "stop-warn" }, make("h3", { text: WORDS.hazards }), make("ul", {}, ...rows));
}

function details(words) {
  const told = [words.where, WORDS.drive(words.drive)];
  if (words.concentrate) told.push(WORDS.product(words.concentrate));
  if (words.tank !== "-") told.push(WORDS.tank(words.tank));
  return `${told.join("; ")}.`;
}

function beforeFirst(lines) {
  const rows = lines.map((text) => make("li", { text }));
  return make("div", {}, make("h3", { text: WORDS.beforeFirst }), make("ul", {}, ...rows));
}
