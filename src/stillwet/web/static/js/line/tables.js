/** One line in words: what it stands at, its segments, its rules. Tells all that the figure shows. */

import { make } from "../dom.js";
import { lineFigure } from "./figure.js";
import { WORDS } from "./words.js";

const LIT = ["stretch", "wet", "lit", "lag", "lay", "wet_to", "lit_to", "latest", "spare"];
const UNLIT = LIT.filter((name) => !name.startsWith("lit"));

/** The section of one line. @param {any} line @param {any} found all that the server told, with now and made */
export function lineSection(line, found) {
  const head = make("h2", { text: `${line.name}: ${line.purpose}` });
  const parts = [head, verdict(line, found.made), lineFigure(line, found.now), segments(line)];
  if ([...line.done.wet, ...line.done.lit].some((one) => one.is_guessed)) parts.push(make("p", { text: WORDS.guessed }));
  if (line.unknown.length) parts.push(make("p", { class: "problems", text: WORDS.unknown(line.unknown.join(", ")) }));
  return make("section", { class: "one-line", "data-line": line.id }, ...parts, ...against(line), ...rules(line), ...steps(line), answers(line));
}

/** What the plan said when it was made: with an alarm up it is no longer how the line stands. */
function verdict(line, made) {
  const kinds = line.alarms.map((one) => one.kind);
  const over = kinds.find((kind) => kind in WORDS.alarmed) ?? kinds[0];
  const says = over ? WORDS.planSaid(made, WORDS.alarmed[over] ?? WORDS.alarmedOtherwise) : WORDS.planSays(made);
  return make("p", { class: over ? "line-verdict overtaken" : "line-verdict" }, `${says} `, make("strong", { text: line.verdict }), ` ${line.reason}`);
}

function segments(line) {
  const names = line.is_lit ? LIT : UNLIT;
  const heads = ["name", "state", ...names].map((name) => make("th", { scope: "col", text: !line.is_lit && name === "latest" ? WORDS.latestColumnUnlit : WORDS.columns[name] }));
  const rows = line.segments.map((part) =>
    make(
      "tr",
      { "data-segment": part.id, "data-state": part.state },
      make("th", { scope: "row", text: part.name }),
      make("td", { "data-name": WORDS.columns.state }, make("span", { class: "line-state-word", text: part.state_words })),
      ...names.map((name) => make("td", { "data-name": WORDS.columns[name], text: part.words[name] })),
    ),
  );
  const table = make("table", { class: "stacks" }, make("caption", { text: WORDS.segments }), make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows));
  return make("div", { class: "table-scroll", tabindex: "0", role: "group", "aria-label": WORDS.segments }, table);
}

function against(line) {
  if (!line.against.length) return [];
  const items = line.against.map(([reason, frees]) => make("li", { text: reason + (frees ? WORDS.frees(frees) : "") }));
  return [make("h3", { text: WORDS.against }), make("ul", {}, ...items)];
}

function rules(line) {
  if (!line.rules.length) return [];
  const items = line.rules.map((one) =>
    make("li", { class: one.is_kept ? "" : "broken" }, make("strong", { text: `${one.name}: ` }), `${one.rule} `, make("span", { class: "rule-forecast", text: `(${one.is_kept ? WORDS.kept : WORDS.broken}: ${one.forecast})` })),
  );
  return [make("h3", { text: WORDS.rules }), make("ul", { class: "rules" }, ...items)];
}

function steps(line) {
  if (!line.steps.length) return [];
  return [make("h3", { text: WORDS.steps }), make("ul", {}, ...line.steps.map((text) => make("li", { text })))];
}

function answers(line) {
  const pairs = line.pairs.map(([name, value]) => make("div", {}, make("dt", { text: name }), make("dd", { text: value })));
  return make("details", {}, make("summary", { text: WORDS.answers }), make("dl", { class: "pairs" }, ...pairs));
}
