/** The parts of a step that are no list: fields of a section, and files that are brought. */

import { sendForm, words as problemWords } from "../api.js";
import { make } from "../dom.js";
import { newId } from "../ids.js";
import { checkSoon, commit, desk, flush, noteTyping, problemsAt, reread } from "./draft.js";
import { makeField } from "./field.js";
import { WORDS } from "./words.js";

const LISTS = { "job.time_zone": "zones", "weather.time_zone": "zones" };

/** @typedef {{box: HTMLElement, refresh: () => void}} Part */

/** A section's fields; those seldom wanted under "more". @param {any} part @returns {Part} */
export function sectionPart(part) {
  const fields = (names) => names.map((spec) => sectionField(part.section, spec));
  const [main, more] = [fields(part.main), fields(part.more)];
  const under = moreOf(more);
  const trouble = make("ul", { class: "problems", hidden: true });
  const box = make("section", { class: "part" }, make("h3", { text: part.title }), trouble, make("div", { class: "fields" }, ...main.map((one) => one.box)), under.box);
  const refresh = () => {
    [...main, ...more].forEach((one) => one.refresh());
    under.refresh();
    showProblems(trouble, problemsAt((spot) => spot.key === part.section && !spot.list));
  };
  refresh();
  return { box, refresh };
}

function sectionField(section, spec) {
  const key = `${section}.${spec.name}`;
  return makeField({ ...spec, list: LISTS[key] }, {
    read: () => desk.draft.texts[key] ?? "",
    write: (text) => commit({ kind: "text", key, text }),
    note: (text) => noteTyping({ kind: "text", key, text }),
    taken: () => defaultOf(section, spec.name, desk.draft.texts[desk.form.by[section]] ?? ""),
    problems: () => problemsAt((spot) => spot.key === key),
  });
}

/** The default of a field, given the word that decides it. @param {string} place @param {string} name @param {string} by */
export function defaultOf(place, name, by) {
  const known = desk.form.defaults[place] ?? {};
  return (known[by] ?? known[""])?.[name] ?? null;
}

/** Fields that are seldom wanted; open when something of them is wrong. @param {any[]} fields */
export function moreOf(fields) {
  const box = make("details", { class: "more" }, make("summary", { text: WORDS.more(fields.length) }), make("div", { class: "fields" }, ...fields.map((one) => one.box)));
  box.hidden = !fields.length;
  const refresh = () => {
    if (fields.some((one) => one.box.classList.contains("bad"))) box.open = true;
  };
  return { box, refresh };
}

/** Problems of a whole part, in a list. @param {HTMLElement} list @param {any[]} found */
export function showProblems(list, found) {
  list.hidden = !found.length;
  list.replaceChildren(...found.map((one) => make("li", { text: problemWords(one) })));
}

/** A file that stays as it was brought, or a product's file. @param {any} part @returns {Part} */
export function filePart(part) {
  const into = part.slot ?? "product";
  const state = make("p", { class: "file-state" });
  const says = make("p", { class: "file-says", role: "status" });
  const trouble = make("ul", { class: "problems", hidden: true });
  const id = `file-${into}`;
  const input = make("input", { type: "file", id, accept: part.accept, on: { change: () => bring(into, input, says, {}) } });
  const out = make("button", { type: "button", on: { click: () => commit({ kind: "file", slot: into }) } });
  const box = make("section", { class: "part" }, make("h3", { text: part.title }), state, trouble, make("label", { for: id, text: part.wants[0].toUpperCase() + part.wants.slice(1) }), input, says, out);
  const refresh = () => {
    const file = part.slot ? desk.draft.files[into] : null;
    state.textContent = file ? WORDS.broughtFile(file.name) : part.slot ? WORDS.noFile : "";
    out.hidden = !file;
    out.textContent = file ? WORDS.takeOut(file.name) : "";
    showProblems(trouble, part.slot ? problemsAt((spot) => spot.key === into) : []);
  };
  refresh();
  return { box, refresh };
}

/** Send a file; says what became of it. @param {string} into @param {any} input @param {HTMLElement} says @param {{replaces?: boolean, noun?: string}} more */
export async function bring(into, input, says, { replaces = false, noun = "" }) {
  const file = input.files[0];
  if (!file) return;
  says.textContent = WORDS.reading(file.name);
  says.classList.remove("bad");
  const body = new FormData();
  const fields = { into, id: newId(), replaces: replaces ? "yes" : "no" };
  for (const [name, value] of Object.entries(fields)) body.append(name, value);
  body.append("file", file);
  await flush();
  try {
    const found = await sendForm("/api/draft/files", body);
    says.textContent = [noun ? WORDS.brought(found.rows, noun) : WORDS.broughtFile(file.name), ...found.remarks].join(" ");
  } catch (error) {
    says.textContent = error.message;
    says.classList.add("bad");
  }
  input.value = "";
  await reread();
  checkSoon(0);
}
