/** A mix tried with sliders: each move asks the server; nothing is reckoned here. */

import { get } from "../api.js";
import { byId, make } from "../dom.js";
import { chart, wall } from "./chart.js";
import { list, pairs } from "./fit.js";
import { WORDS } from "./words.js";

const WAIT_MS = 120; // while a slider is being moved

let asked = null;
let timer = 0;

/** Show the mix and make the sliders work. */
export function startMix() {
  byId("mix-form").addEventListener("input", (event) => {
    tell(event.target);
    clearTimeout(timer);
    timer = setTimeout(refreshMix, WAIT_MS);
  });
  return refreshMix();
}

/** Ask again with the sliders as they stand. */
export async function refreshMix() {
  asked?.abort();
  asked = new AbortController();
  const query = new URLSearchParams({ units: document.documentElement.dataset.units });
  for (const input of byId("mix-form").querySelectorAll("input")) query.set(input.name, `${input.value} ${input.dataset.unit}`);
  try {
    show(await get(`/api/mix?${query}`, asked.signal));
  } catch (error) {
    if (error.name !== "AbortError") byId("mix").replaceChildren(make("p", { class: "problems", text: WORDS.trouble(error.message) }));
  }
}

function show(found) {
  sliders(found.sliders);
  const verdict = make("p", { class: found.verdict === "clings" ? "verdict" : "verdict not", role: "status" }, make("strong", { text: found.verdict }));
  const signs = [make("h3", { text: WORDS.signs }), list(found.signs.map(([test, value]) => `${test}: ${value}`))];
  byId("mix").replaceChildren(verdict, make("p", { text: found.asked }), figure(found), make("p", { class: "soft", text: WORDS.mixKey }), pairs(found.pairs), ...signs);
}

function sliders(every) {
  const form = byId("mix-form");
  for (const one of every) {
    const known = form.elements[one.name];
    if (known && known.dataset.unit === one.unit) continue;
    const id = `mix-${one.name}`;
    const input = make("input", { type: "range", id, name: one.name, min: one.low, max: one.high, step: one.step, "data-unit": one.unit });
    input.value = String(one.at);
    const field = make("div", { class: "slider" }, make("label", { for: id }, WORDS.mixNames[one.name], " ", make("output", { for: id })), input);
    if (known) known.closest(".slider").replaceWith(field);
    else form.append(field);
    tell(input);
  }
}

function tell(input) {
  const words = `${Number(input.value)} ${input.dataset.unit}`;
  input.closest(".slider").querySelector("output").textContent = words;
  input.setAttribute("aria-valuetext", words);
}

function figure(found) {
  const one = found.figure;
  const last = one.ratio_percent.at(-1);
  return chart({
    label: WORDS.mixFigure(found.verdict),
    axes: WORDS.mixAxes(one.coat_unit),
    data: [one.ratio_percent, one.low, one.counted, one.high],
    series: [{ width: 1 }, { width: 3, colour: "--accent" }, { width: 1 }],
    bands: [[3, 1]],
    most: Math.max(3 * one.needed, 1e-3),
    over: (drawn, pen) => {
      wall(drawn, pen, { y: one.needed, word: WORDS.needs, dash: [9, 5], colour: "--warn" });
      const near = one.walls.filter((each) => each.percent <= last);
      near.forEach((each, number) => wall(drawn, pen, { x: each.percent, word: each.name, dash: [2, 4], row: number % 4 }));
      wall(drawn, pen, { x: one.chosen_percent, word: WORDS.chosen, width: 5, colour: "--accent", row: 4 });
    },
  });
}
