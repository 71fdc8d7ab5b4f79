/** How each kind of place looks on the desk's map: by shape and dash, not by colour alone. */

import { ink } from "../dom.js";
import { edge, label } from "../map/ink.js";

const POINTS = { assets: 4, crews: 3, water: 32, depots: 4, wells: 6 };
const DASHES = { lines: [14, 6], streams: [2, 6] };

/** @param {any} ol @param {any} feature @param {string[]} lists those of the open step @param {string} chosen row */
export function lookOf(ol, feature, lists, chosen) {
  const list = feature.get("list");
  const isOpen = lists.includes(list);
  const isChosen = feature.get("row") === chosen;
  const colour = ink(feature.get("bad") ? "--warn" : isOpen ? "--accent" : "--soft");
  const width = isChosen ? 5 : 2.5;
  const stroke = new ol.style.Stroke({ color: colour, width, lineDash: DASHES[list] });
  const fill = new ol.style.Fill({ color: isChosen ? colour : ink("--sheet") });
  const shape = { declutterMode: "none", points: POINTS[list] ?? 4, radius: isChosen ? 12 : 9, angle: list === "depots" ? 0 : Math.PI / 4 };
  const text = label(ol, { text: feature.get("name"), offsetY: 20, font: "15px serif", overflow: true });
  return [
    new ol.style.Style({ stroke: edge(ol, width), image: new ol.style.RegularShape({ ...shape, stroke: edge(ol, 2.5) }) }),
    new ol.style.Style({ stroke, fill: new ol.style.Fill({ color: ink("--ground") }), image: new ol.style.RegularShape({ ...shape, fill, stroke: new ol.style.Stroke({ color: colour, width: 2.5 }) }), text }),
  ];
}
