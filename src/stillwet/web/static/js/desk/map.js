/** The map of the desk: shows every place, and lets those of the open step be drawn and moved. */

import { byId, make } from "../dom.js";
import { EARTH, frame, INK, library } from "../map/frame.js";
import { layGround } from "../map/ground.js";
import { paintLabel } from "../map/ink.js";
import { commit, desk, problemsAt } from "./draft.js";
import { lookOf } from "./look.js";
import { readPair, spotOf } from "./places.js";
import { addRow, openRow } from "./rows.js";
import { WORDS } from "./words.js";

const NEAR_ZOOM = 17;

let ol, map, source, format, drawing, modify;
let lists = [];
let chosen = "";
let placed = false;

/** Load the library once the page stands. */
export async function startMap() {
  ol = await library();
  format = new ol.format.WKT();
  source = new ol.source.Vector();
  const layer = new ol.layer.Vector({ source, style: (feature) => lookOf(ol, feature, lists, chosen), declutter: true });
  const lonLabelStyle = new ol.style.Text({ textBaseline: "bottom" });
  const latLabelStyle = new ol.style.Text({ textAlign: "end" });
  const inkGrid = () => [lonLabelStyle, latLabelStyle].forEach((one) => paintLabel(ol, one, "--soft"));
  inkGrid();
  const strokeStyle = new ol.style.Stroke({ color: "rgba(128,128,128,0.4)", width: 1 });
  const grid = new ol.layer.Graticule({ showLabels: true, wrapX: false, targetSize: 140, strokeStyle, lonLabelStyle, latLabelStyle, lonLabelPosition: 0.06, latLabelPosition: 0.9 });
  map = frame(ol, [grid, layer], { center: [0, 0], zoom: 1, maxZoom: 23 });
  map.on(INK, inkGrid);
  modify = new ol.interaction.Modify({ source, pixelTolerance: 16, condition: (event) => ol.events.condition.primaryAction(event) && canMove(event) });
  modify.on("modifyend", (event) => event.features.forEach(moved));
  map.addInteraction(modify);
  map.addInteraction(new ol.interaction.Snap({ source }));
  map.on("click", (event) => !drawing && map.forEachFeatureAtPixel(event.pixel, pick, { hitTolerance: 12 }));
  byId("go").addEventListener("submit", go);
  byId("go").querySelector("button").disabled = false; // not before: a form without its map loads the page anew
  document.addEventListener("keydown", (event) => event.key === "Escape" && stopDrawing());
  document.addEventListener("desk-row", (event) => choose(event.detail));
  refreshMap();
  await layGround(ol, map);
}

/** Show what the draft has now. */
export function refreshMap() {
  if (!map || drawing?.getOverlay().getSource().getFeatures().length) return;
  const features = Object.entries(desk.draft.lists).flatMap(([list, rows]) => rows.map((row) => featureOf(list, row)).filter(Boolean));
  source.clear(true);
  source.addFeatures(features);
  if (placed) return;
  const texts = desk.draft.texts;
  const spot = readPair(`${texts["weather.latitude"]}, ${texts["weather.longitude"]}`);
  placed = features.length > 0 || Boolean(spot);
  if (features.length) map.getView().fit(source.getExtent(), { padding: [50, 50, 50, 50], maxZoom: NEAR_ZOOM + 2 });
  else if (spot) show(spot);
}

/** The step whose lists may be drawn and moved. @param {any[]} parts */
export function mapFor(parts) {
  lists = parts.map((part) => part.list).filter(Boolean);
  stopDrawing();
  byId("map-tools").replaceChildren(...lists.flatMap((list) => WORDS.draw[list].map(([kind, words]) => make("button", { type: "button", "aria-pressed": "false", text: words, on: { click: (event) => draw(event.currentTarget, list, kind) } }))));
  byId("map-says").textContent = lists.length ? WORDS.dragging : "";
  source?.changed();
}

function featureOf(list, row) {
  const spot = spotOf(row);
  if (!spot && !row.shape) return null;
  const geometry = spot ? new ol.geom.Point(ol.proj.fromLonLat([spot[1], spot[0]])) : format.readGeometry(row.shape, { dataProjection: "EPSG:4326", featureProjection: EARTH });
  const bad = problemsAt((one) => one.row === row.row).length > 0;
  return new ol.Feature({ geometry, list, row: row.row, bad, name: row.fields.name || row.fields.id || "" });
}

function canMove(event) {
  return map.hasFeatureAtPixel(event.pixel, { hitTolerance: 16, layerFilter: (layer) => layer.getSource() === source }) && map.getFeaturesAtPixel(event.pixel, { hitTolerance: 16 }).some((one) => lists.includes(one.get("list")));
}

function moved(feature) {
  commit({ kind: "row", list: feature.get("list"), row: feature.get("row"), fields: cleared(feature.get("list")), shape: written(feature) });
}

/** A drawn place stands above one that was typed before. */
const cleared = (list) => (list === "lines" || list === "streams" ? {} : { latitude: "", longitude: "" });

const written = (feature) => format.writeFeature(feature, { dataProjection: "EPSG:4326", featureProjection: EARTH, decimals: 7 });

function pick(feature) {
  if (!feature.get("row") || !lists.includes(feature.get("list"))) return false;
  openRow(feature.get("row"));
  document.dispatchEvent(new CustomEvent("desk-refresh"));
  return true;
}

function choose(row) {
  chosen = row;
  source?.changed();
}

function draw(button, list, kind) {
  const isOn = button.getAttribute("aria-pressed") === "true";
  stopDrawing();
  if (isOn || !map) return;
  button.setAttribute("aria-pressed", "true");
  byId("map-says").textContent = WORDS.drawing[kind];
  drawing = new ol.interaction.Draw({ type: kind });
  drawing.on("drawend", (event) => {
    const shape = list === "streams" && kind === "Polygon" ? ring(event.feature) : written(event.feature);
    setTimeout(stopDrawing);
    addRow(list, shape);
  });
  modify.setActive(false);
  map.addInteraction(drawing);
}

/** A pond counts by its edge. */
function ring(feature) {
  return written(new ol.Feature(new ol.geom.LineString(feature.getGeometry().getCoordinates()[0])));
}

function stopDrawing() {
  if (drawing) map.removeInteraction(drawing);
  drawing = null;
  modify?.setActive(true);
  document.querySelectorAll("#map-tools button").forEach((one) => one.setAttribute("aria-pressed", "false"));
  if (lists.length) byId("map-says").textContent = WORDS.dragging;
}

function go(event) {
  event.preventDefault();
  const spot = readPair(byId("go-to").value);
  byId("map-says").textContent = spot ? "" : WORDS.goBad;
  if (spot) show(spot);
}

function show(spot) {
  placed = true;
  map.getView().setCenter(ol.proj.fromLonLat([spot[1], spot[0]]));
  map.getView().setZoom(NEAR_ZOOM);
}
