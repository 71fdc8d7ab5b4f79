/** A plan's answer: what does not hold first, then every asset. */

import { make } from "../dom.js";
import { WORDS } from "./words.js";

/** @param {any} plan @param {(id: string, name: string) => void} ask why of an asset */
export function resultPart(plan, ask) {
  const tally = plan.tally.map((one) => `${one.verdict}: ${one.count}`).join(" · ");
  return [
    make("h3", { text: `Plan ${plan.plan_id}` }),
    make("p", { class: "tally", text: tally }),
    ...plan.findings.map(finding),
    make("p", { class: "soft", text: plan.times }),
    table(plan.rows, ask),
  ];
}

function finding(one) {
  const reasons = one.reasons.map(({ names, reason }) => make("li", {}, make("strong", { text: names }), `: ${reason}`));
  return make("div", { class: "finding", "data-verdict": one.verdict }, make("p", {}, make("strong", { class: "verdict", text: `${one.verdict}: ${one.count}` }), ` ${one.meaning}`), make("ul", {}, ...reasons));
}

function table(rows, ask) {
  const words = WORDS.columns;
  const head = make("tr", {}, ...Object.values(words).map((text) => make("th", { scope: "col", text })), make("td"));
  const body = rows.map((row) => {
    const cells = { name: row.name, verdict: row.verdict, chance: row.chance, coat: row.coat, mix: row.mix, water: row.water, apply: WORDS.span(row.apply_from, row.apply_until), hold: row.hold_90, fire: WORDS.span(row.fire_from, row.fire_to) };
    const press = make("button", { type: "button", "aria-label": WORDS.whyOf(row.name), text: WORDS.why, on: { click: () => ask(row.asset_id, row.name) } });
    return make("tr", { "data-verdict": row.verdict }, ...Object.entries(cells).map(([key, text]) => cell(key, text, words[key])), make("td", {}, press));
  });
  return make("div", { class: "table" }, make("table", { class: "plan" }, make("thead", {}, head), make("tbody", {}, ...body)));
}

function cell(key, text, label) {
  if (key === "name") return make("th", { scope: "row", text });
  return make("td", { "data-label": label, class: key === "verdict" ? "verdict" : null, text });
}
