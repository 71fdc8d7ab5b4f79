/** The fields of the forms: big, few, and read back as the log wants them. */

import { make } from "../dom.js";
import { WORDS } from "./words.js";

const AGO_MIN = [5, 10, 15, 20, 30, 45, 60, 90, 120, 180];
const DECIMAL_COMMA = /^-?\d+,(\d{1,2}|\d{4,})$/; // "1,200" may be twelve hundred: that is asked again
const COMPASS = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"];

/** A choice that a glove can hit. `type` is radio or checkbox. */
export function pick(type, name, value, label, checked = false) {
  return make("label", { class: "pick" }, make("input", { type, name, value, checked }), make("span", { text: label }));
}

export function group(legend, ...children) {
  return make("fieldset", {}, make("legend", { text: legend }), ...children);
}

/** Faces to tick: those of the stop first, all others folded away. */
export function facePicks(faces, others, chosen) {
  const box = (face) => pick("checkbox", "faces", face.id, face.label, chosen.has(face.id));
  const away = make("details", { open: others.some((face) => chosen.has(face.id)) },
    make("summary", { class: "button", text: WORDS.others }), ...others.map(box));
  return group(WORDS.whichFaces, ...faces.map(box), others.length ? away : null);
}

/** wet, tacky or dry for each face. */
export function feelPicks(faces, others, told) {
  const row = (face) => group(face.label, make("div", { class: "three" },
    ...Object.entries(WORDS.feels).map(([feel, word]) => pick("radio", `feel ${face.id}`, feel, word, told.get(face.id) === feel))));
  const away = make("details", { open: others.some((face) => told.has(face.id)) },
    make("summary", { class: "button", text: WORDS.others }), ...others.map(row));
  return make("div", {}, ...faces.map(row), others.length ? away : null);
}

/**
 * A number with its unit; the unit is put behind it when it is read. What was told before keeps the
 * unit it was told in, whatever the reader has switched to since.
 * @param {string} name @param {string} label @param {{unit: string, example: string}} asked
 * @param {string} [told] such as "200 L"
 */
export function amount(name, label, asked, told = "") {
  const id = `field-${name}`;
  const [, value, unit] = /^(\S+)\s+(.+)$/.exec(told) ?? [told, told, asked.unit];
  return make("p", { class: "field" }, make("label", { for: id, text: `${label} (${unit})` }),
    make("input", { id, name, value, type: "text", inputmode: "decimal", autocomplete: "off", placeholder: asked.example, "data-unit": unit, "data-label": label }));
}

export function text(name, label, value = "") {
  const id = `field-${name}`;
  return make("p", { class: "field" }, make("label", { for: id, text: label }),
    make("input", { id, name, value, class: "wide", type: "text", maxlength: 300, autocomplete: "off" }));
}

export function select(name, label, pairs, value = "") {
  const id = `field-${name}`;
  const options = pairs.map(([key, word]) => make("option", { value: key, selected: key === value, text: word }));
  return make("p", { class: "field" }, make("label", { for: id, text: label }), make("select", { id, name }, ...options));
}

/** When it happened; a correction keeps the time told before unless another is chosen. */
export function whenField(before) {
  const pairs = [["0", WORDS.justNow], ...AGO_MIN.map((minutes) => [String(minutes), WORDS.ago(minutes)])];
  if (before) pairs.unshift([`at ${before.when}`, WORDS.asBefore(before.clock)]);
  return select("when", WORDS.when, pairs);
}

/** The moment chosen, in ms. @param {string} chosen @param {number} nowMs */
export function momentOf(chosen, nowMs) {
  return chosen.startsWith("at ") ? Date.parse(chosen.slice(3)) : nowMs - Number(chosen) * 60000;
}

export function windFrom(value = "") {
  const pairs = [["", WORDS.notSeen], ...COMPASS.map((point, at) => [`${45 * at} deg`, point])];
  return select("wind_from", WORDS.from, pairs, value);
}

/**
 * What the numbers say, each with its unit; raises Error for one that is none.
 * @param {HTMLFormElement} form
 */
export function amountsOf(form) {
  const found = {};
  for (const input of form.querySelectorAll("input[data-unit]")) {
    const typed = input.value.trim();
    const value = DECIMAL_COMMA.test(typed) ? typed.replace(",", ".") : typed;
    if (!value) continue;
    if (!/^-?\d*\.?\d+$/.test(value)) {
      input.focus();
      throw new Error(WORDS.needNumber(input.dataset.label, typed));
    }
    found[input.name] = `${value} ${input.dataset.unit}`;
  }
  return found;
}
