/** A list of the job: every row opens into its own form. */

import { make } from "../dom.js";
import { newId } from "../ids.js";
import { commit, desk, noteTyping, problemsAt } from "./draft.js";
import { makeField } from "./field.js";
import { bring, defaultOf, moreOf, showProblems } from "./parts.js";
import { cornersOf, shapeOf, spotOf } from "./places.js";
import { WORDS } from "./words.js";

const DRAWN = new Set(["assets", "lines", "streams"]);
const OUTLINED = new Set(["length", "width", "facing"]); // an outline gives them
const PREFIX = { assets: "a", lines: "l", crews: "c", water: "w", depots: "d", wells: "v" };
const loose = new Map(); // corners typed that are no places yet, by row
let open = "";
let toFocus = "";

/** Add a row and open it. @param {string} list @param {string} [shape] */
export function addRow(list, shape = "") {
  const row = newId();
  open = toFocus = row;
  const prefix = PREFIX[list];
  const taken = new Set(desk.draft.lists[list].map((one) => one.fields.id));
  let number = 1;
  while (taken.has(`${prefix}${number}`)) number += 1;
  return commit({ kind: "row", list, row, fields: prefix ? { id: `${prefix}${number}` } : {}, shape });
}

/** Open a row's form, as from the map. @param {string} row */
export function openRow(row) {
  open = toFocus = row;
}

/** @param {any} part */
export function listPart(part) {
  const rows = make("ul", { class: "rows" });
  const none = make("p", { text: WORDS.none(part.noun) });
  const trouble = make("ul", { class: "problems", hidden: true });
  const total = make("span", { class: "total" });
  const tools = toolsOf(part);
  const add = make("button", { type: "button", text: WORDS.add(part.noun), on: { click: () => addRow(part.list) } });
  const box = make("section", { class: "part", "data-list": part.list }, make("h3", {}, part.title, " ", total), trouble, none, rows, make("div", { class: "row-tools" }, add), tools.box);
  const shown = new Map();
  const refresh = () => {
    const now = desk.draft.lists[part.list];
    sync(rows, shown, now, part, refresh);
    none.hidden = now.length > 0;
    total.textContent = now.length ? String(now.length) : "";
    tools.refresh(now.length);
    showProblems(trouble, problemsAt((spot) => spot.key === part.list && !spot.row));
  };
  refresh();
  return { box, refresh };
}

function toolsOf(part) {
  const says = make("p", { class: "file-says", role: "status" });
  const id = `bring-${part.list}`;
  const how = make("select", { id: `${id}-how` }, make("option", { value: "no", text: WORDS.addThem }), make("option", { value: "yes", text: WORDS.replaceThem }));
  const choice = make("p", {}, make("label", { for: `${id}-how`, text: WORDS.where }), how);
  const input = make("input", { type: "file", id, accept: ".csv,.txt,.tsv,.xlsx,.geojson,.json,.gpkg,.gpx,.toml", on: { change: () => bring(part.list, input, says, { replaces: how.value === "yes", noun: part.noun }) } });
  const box = make("div", { class: "bring" }, make("label", { for: id, text: WORDS.bring(part.noun) }), input, choice, says);
  return { box, refresh: (total) => (choice.hidden = total === 0) };
}

function sync(list, shown, now, part, refresh) {
  const keys = new Set(now.map((one) => one.row));
  for (const [key, one] of shown) {
    if (keys.has(key)) continue;
    one.box.remove();
    shown.delete(key);
  }
  now.forEach((row, index) => {
    if (!shown.has(row.row)) shown.set(row.row, rowItem(part, row.row, refresh));
    const one = shown.get(row.row);
    if (list.children[index] !== one.box) list.insertBefore(one.box, list.children[index] ?? null);
    one.refresh(row);
  });
}

function rowItem(part, key, refresh) {
  const head = make("button", { type: "button", class: "row-head", "aria-expanded": "false" });
  const inside = make("div", { class: "row-form", hidden: true });
  const box = make("li", { class: "row", "data-row": key }, head, inside);
  let fields = null;
  head.addEventListener("click", () => {
    open = open === key ? "" : key;
    refresh();
    document.dispatchEvent(new CustomEvent("desk-row", { detail: open }));
  });
  return { box, refresh: (row) => {
    const isOpen = open === key;
    head.setAttribute("aria-expanded", String(isOpen));
    const found = problemsAt((spot) => spot.row === key);
    head.replaceChildren(make("span", { class: "row-name", text: nameOf(row) }), " ", make("span", { class: found.length ? "row-state bad" : "row-state", text: found.length ? WORDS.toMend(found.length) : (row.fields.kind ?? "") }));
    inside.hidden = !isOpen;
    if (!isOpen) return;
    fields ??= formOf(part, key, inside);
    fields.forEach((one) => one.refresh());
    if (toFocus === key) focusFirst(inside, key);
  } };
}

function focusFirst(inside, key) {
  toFocus = "";
  requestAnimationFrame(() => {
    (inside.querySelector("[data-field=kind] select") ?? inside.querySelector("input, select"))?.focus();
    inside.closest(".row").scrollIntoView({ block: "nearest" });
    document.dispatchEvent(new CustomEvent("desk-row", { detail: key }));
  });
}

const nameOf = (row) => [row.fields.id, row.fields.name].filter(Boolean).join(" · ") || WORDS.unnamed;

const rowOf = (list, key) => desk.draft.lists[list].find((one) => one.row === key) ?? { row: key, fields: {}, shape: "" };

function formOf(part, key, inside) {
  const fieldOf = (spec) => rowField(part.list, key, spec);
  const [main, more] = [part.main.map(fieldOf), part.more.map(fieldOf)];
  const under = moreOf(more);
  const names = new Set([...part.main, ...part.more].map((one) => one.name).concat("shape"));
  const others = make("ul", { class: "problems", hidden: true });
  const fields = [...main, ...more, under];
  fields.push({ refresh: () => showProblems(others, problemsAt((spot) => spot.row === key && !names.has(spot.field))) });
  inside.append(others, make("div", { class: "fields" }, ...main.map((one) => one.box)));
  if (DRAWN.has(part.list)) {
    const corners = cornersField(part.list, key);
    fields.push(corners);
    inside.append(corners.box);
  }
  const remove = make("button", { type: "button", on: { click: () => commit({ kind: "remove", list: part.list, row: key }) } });
  inside.append(under.box, make("div", { class: "row-tools" }, remove));
  fields.push({ refresh: () => (remove.textContent = WORDS.remove(nameOf(rowOf(part.list, key)))) });
  return fields;
}

function rowField(list, key, spec) {
  const name = spec.name;
  const edit = (text) => ({ kind: "row", list, row: key, fields: { [name]: text } });
  const isPlace = name === "latitude" || name === "longitude";
  const known = { ...spec, list: name === "time_zone" ? "zones" : undefined };
  const field = makeField(known, {
    read: () => rowOf(list, key).fields[name] ?? (isPlace ? drawnDegree(list, key, name) : ""),
    write: (text) => commit(isPlace ? placeEdit(list, key, name, text) : edit(text)),
    note: (text) => noteTyping(isPlace ? placeEdit(list, key, name, text) : edit(text)),
    taken: () => (OUTLINED.has(name) && rowOf(list, key).shape.startsWith("POLYGON") ? WORDS.fromOutline : defaultOf(list, name, rowOf(list, key).fields[desk.form.by[list]] ?? "")),
    problems: () => problemsAt((spot) => spot.row === key && (spot.field === name || (name === "latitude" && spot.field === "shape"))),
  });
  const refresh = () => {
    field.refresh();
    if (isPlace) field.box.hidden = /^(POLYGON|LINESTRING|MULTI)/.test(rowOf(list, key).shape);
  };
  return { ...field, refresh };
}

function drawnDegree(list, key, name) {
  const spot = spotOf({ fields: {}, shape: rowOf(list, key).shape });
  return spot ? String(Number(spot[name === "latitude" ? 0 : 1].toFixed(6))) : "";
}

/** A typed latitude stands together with the longitude that was drawn, and the other way round. */
function placeEdit(list, key, name, text) {
  const other = name === "latitude" ? "longitude" : "latitude";
  const fields = { [name]: text };
  const before = rowOf(list, key).fields[other] ?? drawnDegree(list, key, other);
  if (before) fields[other] = before;
  return { kind: "row", list, row: key, fields };
}

function cornersField(list, key) {
  let problem = "";
  const kind = () => rowOf(list, key).fields.kind ?? "";
  const label = list === "assets" ? WORDS.corners : WORDS.track;
  return makeField({ name: "corners", label, says: "", kind: "lines", choices: [] }, {
    read: () => loose.get(key) ?? (list === "assets" && rowOf(list, key).shape.startsWith("POINT") ? "" : cornersOf(rowOf(list, key).shape)),
    write: (text) => {
      const found = shapeOf(text, list, kind());
      problem = found.problem;
      if (problem) {
        loose.set(key, text);
        document.dispatchEvent(new CustomEvent("desk-refresh"));
        return;
      }
      loose.delete(key);
      const cleared = list === "assets" && found.shape ? { latitude: "", longitude: "" } : {};
      commit({ kind: "row", list, row: key, fields: cleared, shape: found.shape });
    },
    note: () => {},
    taken: () => null,
    problems: () => (problem && loose.has(key) ? [{ field: label.split(",")[0], wanted: problem.replace(/^Wanted /, ""), got: "this", place: "", hint: "" }] : problemsAt((spot) => spot.row === key && spot.field === "shape" && list !== "assets")),
  });
}
