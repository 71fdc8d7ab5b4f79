/** One face as a row: its state, its band running out along the hours, and the facts in words. */

import { make, mark, svg } from "../dom.js";
import { hourTime } from "../times.js";
import { WORDS } from "./words.js";

const WIDE = 1000;
const HIGH = 44;
const FACTS = ["look", "left", "hold", "fire", "coat_by", "who", "chance"];

/**
 * @param {any} face one of the board's faces
 * @param {any} board the whole board
 * @returns {HTMLElement}
 */
export function faceRow(face, board) {
  const name = `${face.asset_name}, ${face.label}`;
  const head = make(
    "h3",
    { class: "face-head" },
    make("span", { class: "face-state" }, mark(face.state), face.state_words),
    make("span", { class: "face-name", text: name }),
  );
  const facts = FACTS.filter((key) => face.words[key] && face.words[key] !== "-").map((key) =>
    make("div", {}, make("dt", { text: WORDS.facts[key] }), make("dd", { text: face.words[key] })),
  );
  const id = `face-${face.surface_id}`;
  return make("li", { class: "face", id, "data-state": face.state, "data-asset": face.asset_id }, head, band(face, board, name), hours(board), make("dl", {}, ...facts));
}

function band(face, board, name) {
  const at = place(board);
  const label = WORDS.band(name, face.words.hold, face.words.fire);
  const drawing = svg("svg", { class: "band", viewBox: `0 0 ${WIDE} ${HIGH}`, preserveAspectRatio: "none", role: "img", "aria-label": label });
  drawing.append(svg("rect", { class: "band-ground", x: 0, y: 8, width: WIDE, height: 28 }));
  if (face.coat) {
    drawing.append(bar("band-sure", at(face.coat.laid), at(face.coat.hold_90), 10, 24));
    drawing.append(bar("band-doubt", at(face.coat.hold_90), at(face.coat.hold_50), 10, 24));
    drawing.append(bar("band-past", at(face.coat.laid), at(board.at), 10, 24));
  }
  drawing.append(bar("band-fire", at(face.fire_from), at(face.fire_to), 2, 40));
  if (face.state !== "holds" && face.coat_by) {
    drawing.append(bar("band-coat", at(face.coat_from ?? board.from), at(face.coat_by), 38, 6));
  }
  drawing.append(svg("line", { class: "band-now", x1: at(board.at), x2: at(board.at), y1: 0, y2: HIGH }));
  return drawing;
}

function bar(name, from, to, y, height) {
  return svg("rect", { class: name, x: from, y, width: Math.max(0, to - from), height });
}

/** Where a moment stands along the band; beyond its ends at the ends. */
function place(board) {
  const first = Date.parse(board.from);
  const span = Date.parse(board.to) - first;
  return (iso) => Math.min(WIDE, Math.max(0, (WIDE * (Date.parse(iso) - first)) / span));
}

function hours(board) {
  const [first, last] = [Date.parse(board.from), Date.parse(board.to)];
  const parts = [0, 0.25, 0.5, 0.75, 1];
  const labels = parts.map((part) => make("span", { text: hourTime(first + part * (last - first)) }));
  return make("div", { class: "hours", "aria-hidden": "true" }, ...labels);
}
