/** The colours of the page for marks on a map, and the pale edge that keeps them readable on any ground. */

import { ink } from "../dom.js";

const EDGE_PX = 2.5;

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

/** The words beside a mark. @param {any} ol @param {object} more */
export function label(ol, more) {
  return new ol.style.Text({ fill: new ol.style.Fill({ color: ink("--ink") }), stroke: new ol.style.Stroke({ color: ink("--sheet"), width: 4 }), ...more });
}
