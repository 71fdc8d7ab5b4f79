/** The desk: the steps of a job, one at a time, beside the map. */

import { byId, make } from "../dom.js";
import { listen } from "../live.js";
import { back, checkSoon, desk, flush, onDesk, open, openForm, reread, stepOf } from "./draft.js";
import { mapFor, refreshMap, startMap } from "./map.js";
import { filePart, sectionPart } from "./parts.js";
import { planPart } from "./plan.js";
import { listPart } from "./rows.js";
import { WORDS } from "./words.js";

let parts = [];
let plan = null;

const stepNow = () => desk.form.steps.find((one) => `#${one.id}` === location.hash) ?? desk.form.steps[0];

function showStep(moveTo) {
  const step = stepNow();
  parts = step.parts.map((part) => (part.section ? sectionPart(part) : part.list ? listPart(part) : filePart(part)));
  plan = step.id === "plan" ? planPart() : null;
  if (plan) parts.push(plan);
  const title = make("h2", { id: "step-title", tabindex: "-1", text: step.title });
  byId("step").replaceChildren(title, make("p", { class: "step-says", text: step.says }), toMap(step), ...parts.map((one) => one.box), remarks(), onward(step));
  document.body.dataset.map = step.parts.some((part) => part.list) ? "yes" : "no";
  mapFor(step.parts);
  refresh();
  if (moveTo) title.focus();
}

/** On a phone the map stands below the forms. */
function toMap(step) {
  const go = () => {
    byId("map-title").scrollIntoView();
    byId("map").focus({ preventScroll: true });
  };
  return step.parts.some((part) => part.list) ? make("button", { type: "button", class: "to-map", text: WORDS.toMap, on: { click: go } }) : "";
}

function onward(step) {
  const next = desk.form.steps[desk.form.steps.indexOf(step) + 1];
  return make("p", { class: "onward" }, next ? make("a", { class: "button", href: `#${next.id}`, text: `Next: ${next.title}` }) : "");
}

function remarks() {
  return make("details", { id: "remarks", class: "more", hidden: true }, make("summary", { text: WORDS.remarks }), make("ul"));
}

function refresh() {
  byId("desk-state").textContent = desk.says;
  byId("undo").disabled = !desk.draft.can_undo && !desk.unsent.length;
  byId("redo").disabled = !desk.draft.can_redo;
  parts.forEach((one) => one.refresh());
  const told = stepNow().id === "plan" ? (desk.check?.remarks ?? []) : [];
  byId("remarks").hidden = !told.length;
  byId("remarks").querySelector("ul").replaceChildren(...told.map((text) => make("li", { text })));
  byId("steps").replaceChildren(...desk.form.steps.map(stepLink));
  refreshMap();
}

function stepLink(step) {
  const found = (desk.check?.problems ?? []).filter((one) => stepOf(one.spot) === step).length;
  const begun = step.parts.some(hasSome);
  const state = found && begun ? WORDS.toMend(found) : begun ? (desk.check ? WORDS.whole : WORDS.some) : WORDS.blank;
  const link = make("a", { href: `#${step.id}`, "data-state": found && begun ? "mend" : begun ? "whole" : "blank" }, make("span", { class: "step-name", text: step.title }), " ", make("span", { class: "step-state", text: state }));
  if (step === stepNow()) link.setAttribute("aria-current", "step");
  return make("li", {}, link);
}

function hasSome(part) {
  if (part.list) return desk.draft.lists[part.list].length > 0;
  if (part.slot) return part.slot in desk.draft.files;
  return Object.keys(desk.draft.texts).some((key) => key.startsWith(`${part.section}.`));
}

function heard(topic) {
  if (topic === "draft" || topic === "all") reread().then(() => checkSoon());
  if (topic === "plan" || topic === "all") reread().then(() => plan?.again());
}

function say(error) {
  byId("desk-state").textContent = error.message;
}

async function start() {
  await open();
  byId("zones").replaceChildren(...desk.form.zones.map((value) => make("option", { value })));
  byId("doubts").replaceChildren(...desk.form.doubts.map((value) => make("option", { value })));
  for (const which of ["undo", "redo"]) byId(which).addEventListener("click", () => back(which));
  window.addEventListener("hashchange", () => showStep(true));
  window.addEventListener("online", flush);
  document.addEventListener("units", () => openForm().then(() => showStep(false), say));
  document.addEventListener("desk-refresh", refresh);
  onDesk(refresh);
  showStep(false);
  listen(heard);
  startMap().catch((error) => byId("map").append(make("p", { text: error.message })));
  document.body.dataset.ready = "yes";
}

start().catch(say);
