/** The map beside the board: every asset in the shape and hatch of what it needs next. */

import { get } from "../api.js";
import { byId, make, svg } from "../dom.js";

const LIBRARY = "/static/vendor/ol-10.11.0/ol.js";
const ORDER = ["look at it", "coat it now", "too late", "no coat lasts", "coat it later", "holds"];
const SIDES = { "coat it now": 3, "coat it later": 3, "look at it": 4, holds: 4, "too late": 4, "no coat lasts": 16 };
const EMPTY = new Set(["coat it later", "no coat lasts", "look at it"]);

let layer = null;
let states = new Map();

/** Load the library once the page stands, then draw the job. @param {(assetId: string) => void} chosen */
export async function startMap(chosen) {
  const [job] = await Promise.all([get("/api/job"), load(LIBRARY)]);
  const { ol } = window;
  const projection = new ol.proj.Projection({ code: "job", units: "m", getPointResolution: (resolution) => resolution });
  layer = new ol.layer.Vector({ source: new ol.source.Vector({ features: assets(ol, job) }), style: (feature) => look(ol, feature), declutter: true });
  const ground = new ol.layer.Vector({ source: new ol.source.Vector({ features: lines(ol, job) }), style: (feature) => lineLook(ol, feature) });
  const box = byId("map");
  const map = new ol.Map({
    target: box,
    layers: [ground, layer],
    view: new ol.View({ projection, center: [0, 0], zoom: 1, maxResolution: 1000, minResolution: 0.05 }),
    controls: [new ol.control.Zoom(), new ol.control.ScaleLine({ units: document.documentElement.dataset.units === "us" ? "us" : "metric" })],
  });
  map.getView().fit(layer.getSource().getExtent(), { padding: [50, 60, 60, 60], maxZoom: 24 });
  map.on("click", (event) => map.forEachFeatureAtPixel(event.pixel, (feature) => feature.get("asset") && (chosen(feature.get("asset")), true)));
  box.append(north());
}

/** Show the worst state of each asset. @param {any[]} faces */
export function showStates(faces) {
  states = new Map();
  for (const face of faces) {
    const known = states.get(face.asset_id);
    if (!known || ORDER.indexOf(face.state) < ORDER.indexOf(known)) states.set(face.asset_id, face.state);
  }
  layer?.changed();
}

function load(address) {
  return new Promise((resolve, reject) => {
    document.head.append(make("script", { src: address, on: { load: resolve, error: reject } }));
  });
}

function assets(ol, job) {
  return job.assets.map((one) => {
    const shape = one.outline_m ? new ol.geom.Polygon([[...one.outline_m, one.outline_m[0]]]) : new ol.geom.Point(one.at_m);
    return new ol.Feature({ geometry: shape, asset: one.id, name: one.name, at: one.at_m });
  });
}

function lines(ol, job) {
  const streams = job.streams_m.map((track) => new ol.Feature({ geometry: new ol.geom.LineString(track), kind: "stream" }));
  const tracks = job.lines.map((one) => new ol.Feature({ geometry: new ol.geom.LineString(one.track_m), kind: "line", name: one.name }));
  const water = job.water_points.map((one) => new ol.Feature({ geometry: new ol.geom.Point(one.at_m), kind: "water", name: one.name }));
  return [...streams, ...tracks, ...water];
}

function ink(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

function look(ol, feature) {
  const state = states.get(feature.get("asset"));
  const urgent = state === "coat it now" || state === "too late" || state === "look at it";
  const colour = ink(urgent ? "--warn" : state ? "--accent" : "--rule");
  const stroke = new ol.style.Stroke({ color: colour, width: 2.5 });
  const fill = new ol.style.Fill({ color: !state || EMPTY.has(state) ? ink("--sheet") : colour });
  const image = new ol.style.RegularShape({ points: SIDES[state] ?? 16, radius: 9, declutterMode: "none", angle: state === "holds" ? Math.PI / 4 : 0, fill, stroke });
  const text = new ol.style.Text({ text: feature.get("name"), offsetY: 18, font: "15px serif", fill: new ol.style.Fill({ color: ink("--ink") }), stroke: new ol.style.Stroke({ color: ink("--sheet"), width: 4 }) });
  return [new ol.style.Style({ stroke, fill: new ol.style.Fill({ color: ink("--ground") }) }), new ol.style.Style({ geometry: new ol.geom.Point(feature.get("at")), image, text })];
}

function lineLook(ol, feature) {
  const kind = feature.get("kind");
  if (kind === "water") return new ol.style.Style({ image: new ol.style.Circle({ radius: 6, stroke: new ol.style.Stroke({ color: ink("--ink"), width: 2 }) }), text: new ol.style.Text({ text: feature.get("name"), offsetY: 16, font: "italic 14px serif", fill: new ol.style.Fill({ color: ink("--soft") }) }) });
  const dash = kind === "stream" ? [2, 6] : [14, 6];
  return new ol.style.Style({ stroke: new ol.style.Stroke({ color: ink(kind === "stream" ? "--soft" : "--ink"), width: kind === "stream" ? 2 : 4, lineDash: dash }) });
}

function north() {
  const arrow = svg("svg", { viewBox: "0 0 16 24" }, svg("path", { d: "M8 1 14 22 8 17 2 22z", fill: "currentColor" }));
  return make("div", { class: "north", "aria-hidden": "true" }, arrow, "N");
}
