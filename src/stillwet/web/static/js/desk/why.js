/** Why an asset's answer is what it is, and what one change flips: asked for, reckoned by the server. */

import { get, send } from "../api.js";
import { make } from "../dom.js";
import { WORDS } from "./words.js";

const units = () => document.documentElement.dataset.units;

/** Where the reasons of one asset are shown. */
export function whyPart() {
  const box = make("section", { class: "why", tabindex: "-1", hidden: true, "aria-live": "polite" });
  const ask = async (id, name) => {
    box.hidden = false;
    box.setAttribute("aria-label", WORDS.whyOf(name));
    box.replaceChildren(make("h3", { text: WORDS.whyOf(name) }), make("p", { text: WORDS.reckoning }));
    box.focus();
    box.scrollIntoView({ block: "start" });
    try {
      box.replaceChildren(...reasons(await get(`/api/explain?asset=${encodeURIComponent(id)}&units=${units()}`)));
    } catch (error) {
      box.replaceChildren(make("h3", { text: WORDS.whyOf(name) }), make("p", { class: "bad", text: error.message }));
    }
  };
  return { box, ask };
}

function reasons(found) {
  const shares = found.shares.map((one) => make("li", {}, make("span", { class: "share", text: one.percent }), make("progress", { max: "1", value: String(one.fraction), "aria-label": one.words }), make("span", { text: `${one.words}, ${WORDS.alone(one.alone)}` })));
  return [
    make("h3", { text: WORDS.whyOf(found.name) }),
    make("p", {}, make("strong", { class: "verdict", text: `${found.verdict}, ${found.chance}` }), ` ${found.reason}`),
    ...(shares.length ? [make("h4", { text: WORDS.hangsOn }), make("ul", { class: "shares" }, ...shares), make("p", { class: "soft", text: found.shares_mean })] : []),
    ...found.advice.map((text) => make("p", { text })),
    ...found.steps.map(step),
  ];
}

function step(one) {
  const links = one.links.flatMap((link) => [make("dt", {}, make("strong", { text: link.value }), ` ${link.quantity}`), make("dd", { text: `${link.model}. From: ${link.source}.` })]);
  const inputs = one.inputs.map((input) => make("li", { class: input.is_untested ? "untested" : null, text: `${input.name} ${input.value}${input.interval ? ` (${input.interval})` : ""}: ${[input.kind, input.source].filter(Boolean).join(", ")}` }));
  return make("details", { class: "why-step" }, make("summary", { text: one.question }), make("dl", {}, ...links), ...(inputs.length ? [make("p", { text: WORDS.standsOn }), make("ul", {}, ...inputs)] : []));
}

/** Change one thing, or try the usual doubts. */
export function changePart() {
  const input = make("input", { id: "change", list: "doubts", autocomplete: "off", "aria-describedby": "change-says" });
  const says = make("p", { role: "status" });
  const found = make("div", { class: "flips" });
  const ask = async (changes) => {
    says.textContent = WORDS.reckoning;
    says.classList.remove("bad");
    try {
      found.replaceChildren(...flips(await send("/api/compare", { changes })));
      says.textContent = "";
    } catch (error) {
      says.textContent = error.message;
      says.classList.add("bad");
    }
  };
  const form = make("form", { on: { submit: (event) => {
    event.preventDefault();
    if (input.value.trim()) ask([input.value.trim()]);
  } } }, make("label", { for: "change", text: WORDS.change }), input, make("button", { type: "submit", text: WORDS.flips }));
  const all = make("button", { type: "button", text: WORDS.doubts, on: { click: () => ask([]) } });
  return make("section", { class: "part" }, make("h3", { text: WORDS.change }), make("p", { id: "change-says", text: WORDS.changeSays }), form, all, says, found);
}

function flips(answer) {
  const blocks = answer.comparisons.map((one) => make("div", { class: "flip" }, make("h4", { text: one.change }), make("p", {}, make("strong", { text: one.flip_words })), make("p", { text: one.let_down_words }), ...one.warnings.map((text) => make("p", { text }))));
  return [...blocks, ...answer.not_tried.map((one) => make("p", { class: "soft", text: WORDS.notTried(one.change, one.reason) }))];
}
