/** The bench: trials, their fit and the next one; a mix tried; proportioner checks. */

import { get, Unreachable } from "../api.js";
import { byId, make } from "../dom.js";
import { keep, kept } from "../keep.js";
import { listen, sayAnswered } from "../live.js";
import { refreshChecks, startChecks } from "./checks.js";
import { fitParts, nextParts } from "./fit.js";
import { refreshMix, startMix } from "./mix.js";
import { refreshTrials, startTrials, useProposal } from "./trials.js";
import { typed } from "./form.js";
import { WORDS } from "./words.js";

const ASKING = "asked of the trials";
const WAIT_MS = 400; // while somebody types

let asked = null;
let fit = null;
let timer = 0;

async function refreshFit() {
  asked?.abort();
  asked = new AbortController();
  const { coat, hardness } = typed(byId("ask-form"));
  const query = new URLSearchParams({ units: document.documentElement.dataset.units, coat, hardness });
  try {
    fit = await get(`/api/trials/fit?${query}`, asked.signal);
    sayAnswered(true);
    showFit();
    const { next } = await get(`/api/trials/next?${query}`, asked.signal);
    byId("next-says").replaceChildren(...nextParts(next, document.getElementById("trial-form") ? useProposal : null));
  } catch (error) {
    if (error.name !== "AbortError") trouble(byId("fit"), error);
  }
}

function showFit() {
  const select = byId("ask-form").elements.water;
  const names = fit.figure?.waters.map((one) => one.name) ?? [];
  const before = select.value;
  select.replaceChildren(...names.map((text) => make("option", { value: text, text })));
  if (names.includes(before)) select.value = before;
  select.closest("label").hidden = names.length < 2;
  byId("fit").replaceChildren(...fitParts(fit, Math.max(0, select.selectedIndex)));
}

/** What is shown stays while nobody answers: it is only old. */
function trouble(box, error) {
  if (error instanceof Unreachable && box.hasChildNodes()) sayAnswered(false);
  else box.replaceChildren(make("p", { class: "problems", text: WORDS.trouble(error.message) }));
}

async function everything() {
  await refreshTrials().catch((error) => trouble(byId("trial-list"), error));
  await Promise.all([refreshFit(), refreshMix()]);
}

async function startAsking() {
  const form = byId("ask-form");
  const before = await kept(ASKING, {});
  for (const name of ["coat", "hardness"]) form.elements[name].value = before[name] ?? "";
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", (event) => {
    if (event.target.name === "water") {
      showFit();
      return;
    }
    keep(ASKING, typed(form));
    clearTimeout(timer);
    timer = setTimeout(refreshFit, WAIT_MS);
  });
}

document.addEventListener("units", () => {
  everything();
  refreshChecks();
});
await startAsking();
await startTrials(refreshFit).catch((error) => trouble(byId("trial-list"), error));
listen((topic) => ["trials", "plan", "all"].includes(topic) && everything());
await Promise.all([refreshFit(), startMix(), startChecks()]);
document.body.dataset.ready = "yes";
