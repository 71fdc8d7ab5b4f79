/** The map beside the board: every asset in the shape and hatch of what it needs next. */

import { get } from "../api.js";
import { ink } from "../dom.js";
import { frame, library } from "../map/frame.js";
import { layGround } from "../map/ground.js";
import { edge, label } from "../map/ink.js";

const ORDER = ["look at it", "coat it now", "too late", "no coat lasts", "coat it later", "holds"];
const SIDES = { "coat it now": 3, "coat it later": 3, "look at it": 4, holds: 4, "too late": 4, "no coat lasts": 16 };
const EMPTY = new Set(["coat it later", "no coat lasts", "look at it"]);

let layer = null;
let states = new Map();

/** Load the library once the page stands, then draw the job. @param {(assetId: string) => void} chosen */
export async function startMap(chosen) {
  const [job, ol] = await Promise.all([get("/api/job"), library()]);
  layer = new ol.layer.Vector({ source: new ol.source.Vector({ features: assets(ol, job) }), style: (feature) => look(ol, feature), declutter: true });
  const places = new ol.layer.Vector({ source: new ol.source.Vector({ features: lines(ol, job) }), style: (feature) => lineLook(ol, feature) });
  const map = frame(ol, [places, layer], { center: [0, 0], zoom: 1, maxZoom: 23 });
  map.getView().fit(layer.getSource().getExtent(), { padding: [50, 60, 60, 60], maxZoom: 21 });
  map.on("click", (event) => map.forEachFeatureAtPixel(event.pixel, (feature) => feature.get("asset") && (chosen(feature.get("asset")), true)));
  await layGround(ol, map);
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

const spot = (ol, degrees) => ol.proj.fromLonLat(degrees);
const track = (ol, degrees) => degrees.map((one) => spot(ol, one));

function assets(ol, job) {
  return job.assets.map((one) => {
    const shape = one.outline_deg ? new ol.geom.Polygon([track(ol, [...one.outline_deg, one.outline_deg[0]])]) : new ol.geom.Point(spot(ol, one.at_deg));
    return new ol.Feature({ geometry: shape, asset: one.id, name: one.name, at: spot(ol, one.at_deg) });
  });
}

function lines(ol, job) {
  const streams = job.streams_deg.map((one) => new ol.Feature({ geometry: new ol.geom.LineString(track(ol, one)), kind: "stream" }));
  const tracks = job.lines.map((one) => new ol.Feature({ geometry: new ol.geom.LineString(track(ol, one.track_deg)), kind: "line", name: one.name }));
  const water = job.water_points.map((one) => new ol.Feature({ geometry: new ol.geom.Point(spot(ol, one.at_deg)), kind: "water", name: one.name }));
  return [...streams, ...tracks, ...water];
}

function look(ol, feature) {
  const state = states.get(feature.get("asset"));
  const urgent = state === "coat it now" || state === "too late" || state === "look at it";
  const colour = ink(urgent ? "--warn" : state ? "--accent" : "--rule");
  const stroke = new ol.style.Stroke({ color: colour, width: 2.5 });
  const fill = new ol.style.Fill({ color: !state || EMPTY.has(state) ? ink("--sheet") : colour });
  const shape = { points: SIDES[state] ?? 16, radius: 9, declutterMode: "none", angle: state === "holds" ? Math.PI / 4 : 0 };
  const geometry = new ol.geom.Point(feature.get("at"));
  const text = label(ol, { text: feature.get("name"), offsetY: 18, font: "15px serif" });
  return [
    new ol.style.Style({ stroke: edge(ol, 2.5) }),
    new ol.style.Style({ stroke, fill: new ol.style.Fill({ color: ink("--ground") }) }),
    new ol.style.Style({ geometry, image: new ol.style.RegularShape({ ...shape, stroke: edge(ol, 2.5) }) }),
    new ol.style.Style({ geometry, image: new ol.style.RegularShape({ ...shape, fill, stroke }), text }),
  ];
}

function lineLook(ol, feature) {
  const kind = feature.get("kind");
  if (kind === "water") {
    const circle = (stroke) => new ol.style.Circle({ radius: 6, stroke });
    const text = label(ol, { text: feature.get("name"), offsetY: 16, font: "italic 14px serif" });
    return [new ol.style.Style({ image: circle(edge(ol, 2)) }), new ol.style.Style({ image: circle(new ol.style.Stroke({ color: ink("--ink"), width: 2 })), text })];
  }
  const width = kind === "stream" ? 2 : 4;
  const stroke = new ol.style.Stroke({ color: ink(kind === "stream" ? "--soft" : "--ink"), width, lineDash: kind === "stream" ? [2, 6] : [14, 6] });
  return [new ol.style.Style({ stroke: edge(ol, width) }), new ol.style.Style({ stroke })];
}
