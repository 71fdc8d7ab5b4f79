/** The ground under a map: the user's own tiles, a switch for each, how strong, and whose they are. */

import { get } from "../api.js";
import { byId, make } from "../dom.js";
import { keep, kept } from "../keep.js";
import { EARTH } from "./frame.js";
import { WORDS } from "./words.js";

const KEY = "ground";
const USUAL = { off: [], strength: 70 };

/** Lay the ground under a map and its switches below it; nothing where no file was brought. */
export async function layGround(ol, map) {
  const { layers } = await get("/api/ground");
  if (!layers.length) return;
  const choice = { ...USUAL, ...(await kept(KEY, {})) };
  const laid = layers.map((one, n) => {
    const layer = tiles(ol, one);
    map.getLayers().insertAt(n, layer);
    return { ...one, layer };
  });
  const credit = make("p", { class: "ground-credit" });
  const says = make("p", { class: "ground-says", role: "status" });
  const show = () => {
    for (const one of laid) {
      one.layer.setVisible(!choice.off.includes(one.id));
      one.layer.setOpacity(choice.strength / 100);
    }
    const shown = laid.filter((one) => one.layer.getVisible());
    byId("map").dataset.ground = shown.map((one) => one.id).join(" ");
    const credits = shown.map((one) => one.credit);
    credit.textContent = [...new Set(credits)].filter(Boolean).join(" · ");
    says.textContent = reach(ol, map, shown);
  };
  const changed = () => {
    show();
    keep(KEY, choice);
  };
  byId("map").append(credit);
  byId("map").after(switches(laid, choice, changed), says);
  map.on("moveend", show);
  show();
}

function tiles(ol, one) {
  const extent = ol.proj.transformExtent(inside(one.bounds_deg), "EPSG:4326", EARTH);
  const source = new ol.source.XYZ({ url: `/tiles/${one.id}/{z}/{x}/{y}?v=${one.version}`, minZoom: one.min_zoom, maxZoom: one.max_zoom, wrapX: false, attributions: [] });
  return new ol.layer.Tile({ className: `ground-layer ground-${one.id}`, source, extent, minZoom: one.min_zoom - 2 });
}

/** Mercator has no poles. */
const inside = ([west, south, east, north]) => [west, Math.max(south, -85.05), east, Math.min(north, 85.05)];

function switches(laid, choice, changed) {
  const boxes = laid.map((one) => {
    const onChange = (event) => {
      choice.off = event.target.checked ? choice.off.filter((id) => id !== one.id) : [...choice.off, one.id];
      changed();
    };
    const box = make("input", { type: "checkbox", checked: !choice.off.includes(one.id), on: { change: onChange } });
    return make("label", { class: "ground-switch" }, box, make("span", { text: WORDS.layer[one.id](one.name) }));
  });
  const onStrength = (event) => {
    choice.strength = Number(event.target.value);
    changed();
  };
  const strength = make("input", { type: "range", id: "ground-strength", min: 10, max: 100, step: 10, value: choice.strength, on: { input: onStrength } });
  const label = make("label", { class: "ground-strength" }, make("span", { text: WORDS.strength }), strength);
  return make("fieldset", { class: "ground" }, make("legend", { text: WORDS.legend }), ...boxes, label);
}

/** Why nothing is seen of a layer that is on: the place lies outside it, or is seen from too far. */
function reach(ol, map, shown) {
  const view = map.getView();
  const seen = view.calculateExtent(map.getSize());
  const away = shown.filter((one) => !ol.extent.intersects(one.layer.getExtent(), seen));
  const far = shown.filter((one) => !away.includes(one) && view.getZoom() <= one.layer.getMinZoom());
  return [...away.map((one) => WORDS.away(one.name)), ...far.map((one) => WORDS.far(one.name))].join(" ");
}
