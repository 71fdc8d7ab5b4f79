/** What every map has: the library, zoom buttons, scale bar in the reader's units, north, fresh ink. */

import { byId, make, svg } from "../dom.js";

const LIBRARY = "/static/vendor/ol-10.11.0/ol.js";
const NORTH = "N";

/** Told by a map before its marks are drawn in other colours. */
export const INK = "ink";

/** The projection of every map: that of the tiles, so that no picture is bent. */
export const EARTH = "EPSG:3857";

/** Load the library once the page stands. @returns {Promise<any>} */
export async function library() {
  await new Promise((resolve, reject) => {
    document.head.append(make("script", { src: LIBRARY, on: { load: resolve, error: reject } }));
  });
  return window.ol;
}

/** A map in the element "map". @param {any} ol @param {any[]} layers from below @param {object} view */
export function frame(ol, layers, view) {
  const scale = new ol.control.ScaleLine({ units: units() });
  const map = new ol.Map({ target: byId("map"), layers, controls: [new ol.control.Zoom(), scale], view: new ol.View({ projection: EARTH, ...view }) });
  byId("map").append(north());
  document.addEventListener("units", () => scale.setUnits(units()));
  freshInk(map);
  return map;
}

const units = () => (document.documentElement.dataset.units === "us" ? "us" : "metric");

function north() {
  const arrow = svg("svg", { viewBox: "0 0 16 24" }, svg("path", { d: "M8 1 14 22 8 17 2 22z", fill: "currentColor" }));
  return make("div", { class: "north", "aria-hidden": "true" }, arrow, NORTH);
}

/** Marks are drawn in the colours of the page: anew when the light changes, and for paper. */
function freshInk(map) {
  const again = () => {
    map.dispatchEvent(INK);
    map.getLayers().forEach((layer) => layer instanceof window.ol.layer.BaseVector && layer.changed());
    map.renderSync();
  };
  const paper = (isOn) => {
    const box = map.getTargetElement();
    // Paper gets the size that is drawn: no part of it is blank, and no tile has to be waited for.
    box.style.width = isOn ? `${box.offsetWidth}px` : "";
    box.style.height = isOn ? `${box.offsetHeight}px` : "";
    document.documentElement.toggleAttribute("data-paper", isOn);
    again();
  };
  document.addEventListener("light", again);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);
  addEventListener("beforeprint", () => paper(true));
  addEventListener("afterprint", () => paper(false));
}
