/** The lines: asks how they stand, shows it, and asks again whenever anything changes. */

import { get, send, Unreachable } from "../api.js";
import { byId, make } from "../dom.js";
import { listen, sayAnswered } from "../live.js";
import { showAlarms, startAlarms } from "./alarms.js";
import { lineSection } from "./tables.js";
import { offerSegments, startForm } from "./told.js";
import { WORDS } from "./words.js";

const EVERY_MS = 15000; // lags run out even when nobody logs anything

let asked = null;
let isReckoning = false;

async function refresh() {
  asked?.abort();
  asked = new AbortController();
  try {
    show(await get(`/api/lines?units=${document.documentElement.dataset.units}`, asked.signal));
    sayAnswered(true);
  } catch (error) {
    if (error.name === "AbortError") return;
    if (error instanceof Unreachable) sayAnswered(false);
    else byId("lines-state").textContent = WORDS.trouble(error.message);
  }
}

function show(found) {
  const opened = new Set([...document.querySelectorAll(".one-line details[open]")].map((one) => one.closest(".one-line").dataset.line));
  const focused = document.activeElement?.closest?.(".one-line [tabindex]")?.getAttribute("aria-label");
  byId("lines").replaceChildren(...found.lines.map((line) => lineSection(line, found)));
  for (const one of document.querySelectorAll(".one-line")) if (opened.has(one.dataset.line)) one.querySelector("details").open = true;
  if (focused) document.querySelector(`.one-line [aria-label="${CSS.escape(focused)}"]`)?.focus();
  byId("lines-state").textContent = stateWords(found);
  byId("line-cautions").replaceChildren(...cautions(found).map((text) => make("li", { text })));
  const press = document.getElementById("reckon");
  if (press && !isReckoning) press.disabled = !found.job_lines.length;
  offerSegments(found.lines);
  showAlarms(found.lines.flatMap((line) => line.alarms));
  document.body.dataset.logRow = found.log_row;
}

function cautions(found) {
  if (found.lines.length) return [...found.cautions, ...found.warnings];
  const { none, press, ask, always } = WORDS.beforePlan;
  if (!found.job_lines.length) return [none, always];
  return [document.getElementById("reckon") ? press : ask, always];
}

function stateWords(found) {
  if (!found.job_lines.length) return WORDS.none;
  if (!found.lines.length) return WORDS.noPlan;
  if (!found.is_current) return WORDS.stale;
  return [WORDS.plan(found.plan_id, found.made), found.trials_since].filter(Boolean).join(" ");
}

async function reckon(event) {
  const button = event.currentTarget;
  button.disabled = isReckoning = true;
  byId("lines-state").textContent = WORDS.reckoning;
  try {
    await send("/api/lines", {});
    await refresh();
  } catch (error) {
    byId("lines-state").textContent = WORDS.trouble(error.message);
  } finally {
    button.disabled = isReckoning = false;
  }
}

document.getElementById("reckon")?.addEventListener("click", reckon);
document.addEventListener("units", refresh);
byId("line-cautions").append(make("li", { text: WORDS.beforePlan.always })); // also while nothing can be shown
startAlarms();
startForm(refresh);
await refresh();
listen(refresh);
setInterval(refresh, EVERY_MS);
