/** The colours of the page for marks on a map, and the pale edge that keeps them readable on any ground. */

import { ink } from "../dom.js";

const EDGE_PX = 2.5;
const LINE = 24; // letters
const MOST_LINES = 3;

/** The pale edge under a line or a mark, by the same shape and dash. @param {any} ol @param {number} width */
export function edge(ol, width) {
  return new ol.style.Stroke({ color: ink("--sheet"), width: width + 2 * EDGE_PX });
}

/** Words of the map itself: small, in a colour of the page, with its pale edge. @param {any} ol @param {any} text @param {string} name */
export function paintLabel(ol, text, name) {
  text.setFont("13px serif");
  text.setFill(new ol.style.Fill({ color: ink(name) }));
  text.setStroke(new ol.style.Stroke({ color: ink("--sheet"), width: 3 }));
}

/** A long name in lines, so that it stays beside its mark. @param {string} name */
function lines(name) {
  const found = [""];
  for (const word of name.split(" ").map((one) => (one.length > LINE ? `${one.slice(0, LINE)}…` : one))) {
    if (found.at(-1) && found.at(-1).length + word.length >= LINE) found.push("");
    found.push(`${found.pop()} ${word}`.trim());
  }
  return found.length > MOST_LINES ? `${found.slice(0, MOST_LINES).join("\n")}…` : found.join("\n");
}

/** The words beside a mark. @param {any} ol @param {any} more */
export function label(ol, more) {
  return new ol.style.Text({ textBaseline: "top", fill: new ol.style.Fill({ color: ink("--ink") }), stroke: new ol.style.Stroke({ color: ink("--sheet"), width: 4 }), ...more, text: lines(more.text ?? "") });
}
