/** Trials: the table of what is kept, the form to add one, and a table taken in. */

import { get, send } from "../api.js";
import { byId, make } from "../dom.js";
import { keep, kept } from "../keep.js";
import { list } from "./fit.js";
import { buildFields, row, showFaults, typed } from "./form.js";
import { WORDS } from "./words.js";

const TYPING = "trial being typed";
const FIXED = ["id", "ratio", "hardness", "water_temperature", "age"];
const READ_AS = { "coat kept": "coat on a board", "slough time": "coat that slid", slump: "slump of a cylinder", spread: "spread on a plate", "funnel time": "funnel", viscosity: "viscometer" };

let form = null;

/** Show what is kept and make the form work; `changed` is called when a trial is kept. @param {() => void} changed */
export async function startTrials(changed) {
  await refreshTrials(await kept(TYPING, {}));
  const box = document.getElementById("trial-fields");
  if (!box) return;
  box.addEventListener("input", () => keep(TYPING, typed(box)));
  byId("trial-form").addEventListener("submit", (event) => {
    event.preventDefault();
    save(box, changed);
  });
  byId("trial-file").addEventListener("change", (event) => takeIn(event.target, changed));
}

/** The table and the form again. @param {Record<string,string>} [values] what stands in the form */
export async function refreshTrials(values) {
  const found = await get(`/api/trials?units=${document.documentElement.dataset.units}`);
  form = found.form;
  const box = document.getElementById("trial-fields");
  if (box) buildFields(box, form, "trial", values ?? typed(box));
  byId("trial-list").replaceChildren(table(found.trials, Boolean(box)));
}

/** Put a proposed trial into the form. @param {any} one */
export function useProposal(one) {
  const box = byId("trial-fields");
  fill({ ...typed(box), id: "", ratio: one.ratio, hardness: one.hardness, age: one.age, way: READ_AS[one.method] });
}

function fill(values) {
  const box = byId("trial-fields");
  buildFields(box, form, "trial", values);
  keep(TYPING, typed(box));
  box.querySelector("input").focus();
}

async function save(box, changed) {
  const values = { ...row(box) };
  try {
    const found = await send("/api/trials", { rows: [values], units: document.documentElement.dataset.units });
    showFaults(box, []);
    say([found.kept ? WORDS.keptNow(found.ids) : WORDS.already, ...found.remarks]);
    const { ratio, hardness, water_temperature: warm, age, way } = typed(box);
    fill({ ratio, hardness, water_temperature: warm, age, way });
    await refreshTrials();
    changed();
  } catch (error) {
    const rest = error.problems ? showFaults(box, error.problems) : [];
    say(error.problems ? rest.map((one) => WORDS.notKept(`${one.field}: ${WORDS.bad(one)}`)) : [WORDS.notKept(error.message)], true);
  }
}

async function takeIn(input, changed) {
  const [file] = input.files;
  if (!file) return;
  try {
    const found = await send("/api/trials/file", { name: file.name, content_base64: await base64(file) });
    say([WORDS.imported(found.kept, found.already_here), ...found.remarks]);
    await refreshTrials();
    changed();
  } catch (error) {
    say(error.message.split("\n").map(WORDS.notKept), true);
  }
  input.value = "";
}

function base64(file) {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.addEventListener("load", () => resolve(String(reader.result).split(",")[1] ?? ""));
    reader.addEventListener("error", () => reject(reader.error));
    reader.readAsDataURL(file);
  });
}

function say(texts, isBad = false) {
  byId("trial-state").replaceChildren(...(texts.length ? [list(texts, isBad ? "problems" : undefined)] : []));
}

function table(trials, canWrite) {
  if (!trials.length) return make("p", { text: WORDS.noTrials });
  const heads = Object.values(WORDS.columns).map((text) => make("th", { scope: "col", text }));
  const rows = trials.map((one) => line(one, canWrite));
  const whole = make("table", { class: "stacks" }, make("caption", { text: WORDS.trials }), make("thead", {}, make("tr", {}, ...heads, make("td", {}))), make("tbody", {}, ...rows));
  return make("div", { class: "table-scroll", tabindex: "0", role: "group", "aria-label": WORDS.trials }, whole);
}

function line(one, canWrite) {
  const name = make("th", { scope: "row" }, one.id, one.is_odd ? make("strong", { class: "odd", text: ` ✖ ${WORDS.odd}` }) : null);
  const cells = FIXED.slice(1).map((field) => make("td", { "data-name": WORDS.columns[field], text: one.typed[field] ?? "-" }));
  const read = make("td", { "data-name": WORDS.columns.read, text: one.says || readings(one.typed) });
  const button = canWrite && one.typed.id ? make("button", { type: "button", class: "no-print", text: WORDS.correct, "aria-label": WORDS.again(one.id), on: { click: () => fill({ ...one.typed, way: wayOf(one.typed) }) } }) : null;
  return make("tr", {}, name, ...cells, read, make("td", {}, button));
}

function readings(values) {
  const shown = form.fields.filter((field) => !FIXED.includes(field.name) && values[field.name]);
  return shown.map((field) => `${field.says.toLowerCase()} ${values[field.name]}`).join(", ");
}

/** The way of reading of which most is written down. */
function wayOf(values) {
  const score = (way) => form.fields.filter((field) => field.ways.includes(way) && values[field.name]).length;
  return [...form.ways].sort((a, b) => score(b) - score(a))[0];
}
