/** The form that logs how far a line is wet or lit; an entry keeps its id until it is in. */

import { send } from "../api.js";
import { byId, make } from "../dom.js";
import { WORDS } from "./words.js";

const WHO = "line: who writes";

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
    tell(form, entryOf(fields), logged);
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

function entryOf(fields) {
  const entry = { id: crypto.randomUUID?.() ?? uuid(), kind: fields.kind.value, segment: fields.segment.value, by: fields.by.value, device: "line page" };
  if (fields.far.value === "begin") entry.up_to = "0 m";
  if (fields.far.value === "part") entry.up_to = fields.up_to.value;
  if (fields.when.value.trim()) entry.when = fields.when.value;
  if (entry.kind === "wetted" && fields.coverage.value.trim()) entry.coverage = fields.coverage.value;
  return entry;
}

async function tell(form, entry, logged) {
  const { far, segment } = form.elements;
  const what = `${WORDS.told[entry.kind]} ${WORDS.told[far.value]} ${segment.selectedOptions[0]?.textContent ?? ""}`;
  const became = await post(entry);
  if (!became) return;
  const back = make("button", { type: "button", class: "button", text: WORDS.takeBack, on: { click: () => takeBack(entry, logged) } });
  const words = { kept: WORDS.logged(what), "already here": WORDS.already, conflict: WORDS.conflict }[became];
  byId("told-state").replaceChildren(make("p", { text: words }), back);
  form.elements.when.value = "";
  logged();
}

async function takeBack(entry, logged) {
  const withdrawn = { id: crypto.randomUUID?.() ?? uuid(), kind: "withdrawn", replaces: entry.id, by: entry.by, device: entry.device };
  if (!(await post(withdrawn))) return;
  byId("told-state").replaceChildren(make("p", { text: WORDS.takenBack }));
  logged();
}

async function post(entry) {
  try {
    const [one] = (await send("/api/log", { entries: [entry] })).entries;
    if (one.became !== "refused") return one.became;
    const lines = one.problems.map((bad) => `${bad.field}: wanted ${bad.wanted}, got ${bad.got}`);
    say(lines.join("; "));
  } catch (error) {
    say(error.message);
  }
  return null;
}

function say(text) {
  byId("told-state").replaceChildren(make("p", { class: "problems", text: WORDS.unsent(text) }));
}

/** Pages without HTTPS have no randomUUID. */
function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
