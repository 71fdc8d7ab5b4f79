/** Fields as the server describes them; a fault stands beside its own field. */

import { make } from "../dom.js";
import { WORDS } from "./words.js";

/**
 * Fill a box with the fields of a form, and a choice of how it was read.
 * @param {HTMLElement} box @param {any} form @param {string} prefix @param {Record<string,string>} values
 */
export function buildFields(box, form, prefix, values) {
  const way = make("select", { name: "way", id: `${prefix}-way` }, ...form.ways.map((text) => make("option", { value: text, text })));
  way.value = form.ways.includes(values.way) ? values.way : form.ways[0];
  const asked = form.fields.filter((field) => !field.ways.length).map((field) => labelled(field, prefix, values));
  const read = form.fields.filter((field) => field.ways.length).map((field) => labelled(field, prefix, values));
  box.replaceChildren(...asked, make("div", { class: "field" }, make("label", { for: way.id, text: WORDS.way }), way), ...read);
  const arrange = () => {
    for (const field of form.fields.filter((one) => one.ways.length)) {
      box.querySelector(`[data-field="${field.name}"]`).hidden = !field.ways.includes(way.value);
    }
  };
  way.addEventListener("change", arrange);
  arrange();
}

function labelled(field, prefix, values) {
  const id = `${prefix}-${field.name}`;
  const input = field.choices.length
    ? make("select", { name: field.name, id }, ...field.choices.map((text) => make("option", { value: text, text })))
    : make("input", { name: field.name, id, autocomplete: "off", placeholder: field.example, "data-unit": field.unit || null });
  input.value = values[field.name] ?? (field.choices[0] || "");
  const name = field.unit ? `${field.says}, ${field.unit}` : field.says;
  return make("div", { class: "field", "data-field": field.name }, make("label", { for: id, text: name }), input, make("p", { class: "fault", id: `${id}-fault`, hidden: true }));
}

/** All that is filled in, what is hidden too: it is kept, not sent. @param {HTMLElement} box */
export function typed(box) {
  return Object.fromEntries([...box.querySelectorAll("[name]")].map((input) => [input.name, input.value]));
}

const BARE = /^[\d\s./]+$/; // a number without its unit has the one that stands beside the field

function told(input) {
  const text = input.value.trim();
  return input.dataset.unit && BARE.test(text) ? `${text} ${input.dataset.unit}` : text;
}

/** What counts: fields that are shown and filled in, with their units. @param {HTMLElement} box */
export function row(box) {
  const shown = [...box.querySelectorAll("[data-field]:not([hidden]) [name]")];
  return Object.fromEntries(shown.filter((input) => input.value.trim()).map((input) => [input.name, told(input)]));
}

/**
 * Put each problem beside its field; gives back those that have none here.
 * @param {HTMLElement} box @param {any[]} problems
 */
export function showFaults(box, problems) {
  for (const old of box.querySelectorAll(".fault")) {
    old.hidden = true;
    const input = old.parentElement.querySelector("[name]");
    input.removeAttribute("aria-invalid");
    input.removeAttribute("aria-describedby");
  }
  const rest = [];
  for (const one of problems) {
    const field = box.querySelector(`[data-field="${CSS.escape(one.field)}"]:not([hidden])`);
    if (!field) {
      rest.push(one);
      continue;
    }
    const [input, fault] = [field.querySelector("[name]"), field.querySelector(".fault")];
    fault.textContent = WORDS.bad(one);
    fault.hidden = false;
    input.setAttribute("aria-invalid", "true");
    input.setAttribute("aria-describedby", fault.id);
  }
  box.querySelector("[aria-invalid]")?.focus();
  return rest;
}
