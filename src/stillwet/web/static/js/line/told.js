/** The form that logs how far a line is wet or lit; an entry keeps its id until it is in. */

import { send, words } from "../api.js";
import { byId, make } from "../dom.js";
import { newId } from "../ids.js";
import { now } from "../times.js";
import { WORDS } from "./words.js";

const WHO = "line: who writes";

let unsent = null; // what was told, and its entry, until the log has it
let isSending = false;

/** Make the form work; `logged` is called when the log has the entry. @param {() => void} logged */
export function startForm(logged) {
  const form = document.getElementById("told-form");
  if (!form) return;
  const fields = form.elements;
  fields.by.value = localStorage.getItem(WHO) ?? "";
  const arrange = () => {
    fields.up_to.disabled = fields.far.value !== "part";
    fields.up_to.required = fields.far.value === "part";
    form.querySelector(".of-wetted").hidden = fields.kind.value !== "wetted";
  };
  const units = () => {
    const name = document.documentElement.dataset.units;
    fields.up_to.placeholder = WORDS.example[name];
    fields.coverage.placeholder = WORDS.coverageExample[name];
  };
  form.addEventListener("change", arrange);
  document.addEventListener("units", units);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    localStorage.setItem(WHO, fields.by.value);
    if (!isSending) tell(form, logged);
  });
  arrange();
  units();
}

/** Offer the segments of the plan; keeps the choice. @param {any[]} lines */
export function offerSegments(lines) {
  const section = document.getElementById("told");
  if (!section) return;
  section.hidden = lines.length === 0;
  const select = byId("told-form").elements.segment;
  const chosen = select.value;
  const groups = lines.map((line) => make("optgroup", { label: line.name }, ...line.segments.map((part) => make("option", { value: part.id, text: part.name }))));
  const same = [...select.options].map((one) => one.value).join() === lines.flatMap((line) => line.segments.map((part) => part.id)).join();
  if (same) return;
  select.replaceChildren(...groups);
  if (chosen) select.value = chosen;
}

function toldIn(fields) {
  const entry = { kind: fields.kind.value, segment: fields.segment.value, by: fields.by.value, device: "line page" };
  if (fields.far.value === "begin") entry.up_to = "0 m";
  if (fields.far.value === "part") entry.up_to = fields.up_to.value;
  if (fields.when.value.trim()) entry.when = fields.when.value;
  if (entry.kind === "wetted" && fields.coverage.value.trim()) entry.coverage = fields.coverage.value;
  return entry;
}

/** The same told again is the same entry: its answer may have got lost on the way. */
function entryOf(told) {
  const said = JSON.stringify(told);
  const moment = new Date(now()).toISOString();
  if (unsent?.said !== said) unsent = { said, entry: { id: newId(), when: moment, written: moment, ...told } };
  return unsent.entry;
}

async function tell(form, logged) {
  const entry = entryOf(toldIn(form.elements));
  const { far, segment } = form.elements;
  const what = `${WORDS.told[entry.kind]} ${WORDS.told[far.value]} ${segment.selectedOptions[0]?.textContent ?? ""}`;
  const became = await post(entry);
  if (!became) return;
  unsent = null;
  const back = make("button", { type: "button", class: "button", text: WORDS.takeBack, on: { click: () => takeBack(entry, logged) } });
  const says = { kept: WORDS.logged(what), "already here": WORDS.already, conflict: WORDS.conflict }[became];
  byId("told-state").replaceChildren(make("p", { text: says }), back);
  form.elements.when.value = "";
  logged();
}

async function takeBack(entry, logged) {
  if (isSending) return;
  const withdrawn = { id: newId(), kind: "withdrawn", replaces: entry.id, by: entry.by, device: entry.device };
  if (!(await post(withdrawn))) return;
  byId("told-state").replaceChildren(make("p", { text: WORDS.takenBack }));
  logged();
}

async function post(entry) {
  isSending = true;
  try {
    const [one] = (await send("/api/log", { entries: [entry] })).entries;
    if (one.became !== "refused") return one.became;
    say(one.problems.map(words).join("; "));
  } catch (error) {
    say(error.message);
  } finally {
    isSending = false;
  }
  return null;
}

function say(text) {
  byId("told-state").replaceChildren(make("p", { class: "problems", text: WORDS.unsent(text) }));
}
