/** One field: label, what to type, what is taken if it is left blank, and its problems beside it. */

import { make } from "../dom.js";
import { WORDS } from "./words.js";

const PAUSE_MS = 800;
let number = 0;

/**
 * @typedef {object} Ways how a field reaches the draft
 * @property {() => string} read
 * @property {(text: string) => void} write a change that is finished
 * @property {(text: string) => void} note what is being typed
 * @property {() => any} taken the default, or null
 * @property {() => any[]} problems
 */

/** @param {{name:string,label:string,says:string,kind:string,choices:string[]}} spec @param {Ways} ways */
export function makeField(spec, ways) {
  const id = `field-${(number += 1)}`;
  const input = control(spec, id);
  const taken = make("p", { class: "field-taken", id: `${id}-taken` });
  const trouble = make("p", { class: "field-problem", id: `${id}-problem`, role: "alert" });
  const says = make("p", { class: "field-says", id: `${id}-says`, text: spec.says });
  const box = make("div", { class: "field", "data-field": spec.name }, make("label", { for: id, text: spec.label }), input, trouble, says, taken);
  says.hidden = !spec.says;
  input.setAttribute("aria-describedby", `${id}-problem ${id}-says ${id}-taken`);
  listen(input, ways);
  const refresh = () => show(input, taken, trouble, box, ways);
  refresh();
  return { box, refresh, input };
}

function control(spec, id) {
  const common = { id, autocomplete: "off", spellcheck: "false" };
  if (spec.kind === "lines") return make("textarea", { ...common, rows: 4 });
  if (spec.kind === "choice" || spec.kind === "flag") {
    const choices = spec.kind === "flag" ? ["yes", "no"] : spec.choices;
    return make("select", { id }, make("option", { value: "", text: WORDS.nothing }), ...choices.map((one) => make("option", { value: one, text: one.replaceAll("_", " ") })));
  }
  return make("input", { ...common, type: "text", list: spec.list ?? null });
}

function listen(input, ways) {
  let timer = 0;
  const finish = () => {
    clearTimeout(timer);
    if (input.value.trim() !== ways.read()) ways.write(input.value.trim());
  };
  input.addEventListener("input", () => {
    ways.note(input.value.trim());
    clearTimeout(timer);
    timer = setTimeout(finish, PAUSE_MS);
  });
  input.addEventListener("change", finish);
}

function show(input, taken, trouble, box, ways) {
  const text = ways.read();
  if (document.activeElement !== input && input.value !== text) {
    if (input.tagName === "SELECT") choose(input, text);
    else input.value = text;
  }
  const found = ways.problems();
  const told = found.map(WORDS.beside).join("\n");
  if (trouble.textContent !== told) trouble.textContent = told;
  input.setAttribute("aria-invalid", found.length ? "true" : "false");
  box.classList.toggle("bad", found.length > 0);
  const stand = ways.taken();
  taken.hidden = !stand;
  if (stand) {
    const source = text || !stand.source ? "" : make("span", { class: "field-source", text: WORDS.source(stand.source) });
    taken.replaceChildren(text ? WORDS.instead(stand) : WORDS.taken(stand), " ", source);
    taken.classList.toggle("untested", stand.kind === "untested default" && !text);
  }
}

/** A select shows what is there, also a word that it does not offer. */
function choose(input, text) {
  const known = [...input.options].find((one) => one.value.replaceAll("_", " ").toLowerCase() === text.replaceAll("_", " ").toLowerCase());
  if (!known) input.append(make("option", { value: text, text }));
  input.value = known ? known.value : text;
}
