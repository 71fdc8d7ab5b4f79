/** What the trials say: sentences, the band of the fit with the readings, and the next trial. */

import { ink, make } from "../dom.js";
import { chart, spot, wall } from "./chart.js";
import { WORDS } from "./words.js";

/** All of the fit in words and one water's figure. @param {any} fit @param {number} water */
export function fitParts(fit, water) {
  const parts = [make("p", { text: WORDS.asked(fit.asked) })];
  if (fit.lowest.length) parts.push(make("h4", { text: WORDS.lowest }), list(fit.lowest));
  parts.push(...fit.rulings.map((one) => make("p", { class: one.is_accepted ? "ruling" : "ruling not" }, make("strong", { text: one.is_accepted ? WORDS.taken : WORDS.notTaken }), one.says)));
  if (fit.odd.length) parts.push(list(fit.odd, "problems"));
  if (fit.figure) parts.push(...figure(fit.figure, fit.figure.waters[water] ?? fit.figure.waters[0]));
  if (fit.rests_on.length) parts.push(make("h4", { text: WORDS.rests }), list(fit.rests_on));
  if (fit.numbers.length) parts.push(make("h4", { text: WORDS.numbers }), pairs(fit.numbers));
  return parts;
}

function figure(whole, water) {
  const drawn = chart({
    label: WORDS.fitFigure(water.name, whole.asked_pa),
    axes: WORDS.fitAxes,
    data: [water.ratio_percent, water.low_pa, water.middle_pa, water.high_pa],
    series: [{ width: 1 }, { width: 3, colour: "--accent" }, { width: 1 }],
    bands: [[3, 1]],
    most: 1.15 * Math.max(whole.asked_pa * 1.6, ...water.seen.map((one) => one.yield_pa)),
    under: (one, pen) => stretch(one, pen, whole.label_percent),
    over: (one, pen) => {
      wall(one, pen, { y: whole.asked_pa, word: WORDS.takes, dash: [9, 5], colour: "--warn" });
      for (const seen of water.seen) spot(one, pen, seen.ratio_percent, seen.yield_pa, kind(seen));
    },
  });
  const head = make("tr", {}, ...WORDS.fitColumns.map((text) => make("th", { scope: "col", text })));
  const rows = water.table.map((cells) => make("tr", {}, ...cells.map((text, number) => make(number ? "td" : "th", number ? { text } : { scope: "row", text }))));
  const table = make("details", {}, make("summary", { text: WORDS.fitTable }), make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows)));
  const parts = [drawn, make("p", { class: "soft", text: WORDS.fitKey }), table];
  if (whole.unseen) parts.push(make("p", { class: "soft", text: WORDS.unseen(whole.unseen) }));
  return parts;
}

function kind(seen) {
  if (seen.is_odd) return "cross";
  return seen.bound === 0 ? "round" : seen.bound > 0 ? "up" : "down";
}

function stretch(one, pen, [from, to]) {
  const [left, right] = [one.valToPos(from, "x", true), one.valToPos(to, "x", true)];
  pen.fillStyle = ink("--rule");
  pen.globalAlpha = 0.16;
  pen.fillRect(left, one.bbox.top, right - left, one.bbox.height);
  pen.globalAlpha = 1;
}

/** The next trial: what to do and why; `use` puts it in the form. @param {any[]} next @param {((one: any) => void)|null} use */
export function nextParts(next, use) {
  if (!next.length) return [make("p", { text: WORDS.nothingNext })];
  const [best, ...others] = next;
  const parts = [make("p", { class: "next-first", text: best.says }), make("p", { text: best.reason }), make("p", { class: "soft", text: best.band })];
  if (use) parts.push(make("p", { class: "no-print" }, make("button", { type: "button", class: "button", text: WORDS.use, on: { click: () => use(best) } })));
  if (others.length) parts.push(make("details", {}, make("summary", { text: WORDS.others }), list(others.map((one) => `${one.says}. ${one.band}.`))));
  return parts;
}

/** A list of sentences. @param {string[]} texts @param {string} [name] */
export function list(texts, name) {
  return make("ul", { class: name }, ...texts.map((text) => make("li", { text })));
}

/** Names with their values. @param {string[][]} rows */
export function pairs(rows) {
  return make("dl", { class: "pairs" }, ...rows.map(([name, value]) => make("div", {}, make("dt", { text: name }), make("dd", { text: value }))));
}
