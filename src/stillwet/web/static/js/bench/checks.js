/** Proportioner checks: rows typed here, kept in this browser, judged by the server at each change. */

import { get, send } from "../api.js";
import { byId, ink, make } from "../dom.js";
import { keep, kept } from "../keep.js";
import { chart, spot, wall } from "./chart.js";
import { list } from "./fit.js";
import { buildFields, row, showFaults, typed } from "./form.js";
import { WORDS } from "./words.js";

const ROWS = "checks";
const TYPING = "check being typed";
const AGAINST = "checks held against";

let rows = [];
let adding = Promise.resolve();

/** Build the form, take up what was kept, judge it. */
export async function startChecks() {
  if (!document.getElementById("checks")) return; // of somebody who may only look
  rows = await kept(ROWS, []);
  const ask = byId("check-ask");
  const against = await kept(AGAINST, {});
  for (const input of ask.querySelectorAll("input")) input.value = against[input.name] ?? "";
  await refreshChecks(await kept(TYPING, {}));
  byId("check-fields").addEventListener("input", () => keep(TYPING, typed(byId("check-fields"))));
  byId("check-form").addEventListener("submit", (event) => {
    event.preventDefault();
    adding = adding.then(add); // one after the other, in the order they were typed
  });
  ask.addEventListener("submit", (event) => event.preventDefault());
  ask.addEventListener("change", async () => {
    await keep(AGAINST, typed(ask));
    await judge();
  });
}

/** The form in the reader's units again, and what the checks say. @param {Record<string,string>} [values] */
export async function refreshChecks(values) {
  const box = document.getElementById("check-fields");
  if (!box) return;
  const units = document.documentElement.dataset.units;
  try {
    buildFields(box, await get(`/api/proportioner?units=${units}`), "check", values ?? typed(box));
  } catch (error) {
    say([error.message]);
    return;
  }
  await judge();
}

async function add() {
  const fields = byId("check-fields");
  const values = typed(fields);
  const fresh = { ...row(fields), method: values.way };
  try {
    show(await ask([...rows, fresh]));
  } catch (error) {
    const own = (error.problems ?? []).filter((one) => one.place === "" || one.place === `row ${rows.length + 1}` || !one.place.startsWith("row "));
    say(error.problems ? showFaults(fields, own).map((one) => `${one.field}: ${WORDS.bad(one)}`) : [error.message]);
    return;
  }
  showFaults(fields, []);
  say([]);
  rows = [...rows, fresh];
  await keep(ROWS, rows);
}

async function takeOut(number) {
  rows = rows.filter((_one, place) => place !== number);
  await keep(ROWS, rows);
  await judge();
}

async function judge() {
  if (!rows.length) {
    byId("checks").replaceChildren();
    return;
  }
  try {
    show(await ask(rows));
    say([]);
  } catch (error) {
    say([error.message]);
  }
}

function ask(every) {
  const { window: mixWindow, wanted } = typed(byId("check-ask"));
  return send("/api/proportioner", { rows: every, units: document.documentElement.dataset.units, window: mixWindow, wanted });
}

function say(texts) {
  byId("check-state").replaceChildren(...(texts.length ? [list(texts, "problems")] : []));
}

function show(found) {
  byId("checks").replaceChildren(make("p", { text: found.window }), ...found.devices.map(deviceParts));
}

function deviceParts(device) {
  const dials = device.dials.map((at) => make("li", {}, at.says, make("ul", {}, ...at.rules.map(([rule, says]) => make("li", {}, make("strong", { text: `${rule}: ` }), says)))));
  const parts = [make("h3", { text: device.name }), make("h4", { text: WORDS.settings }), list(device.settings), make("h4", { text: WORDS.dials }), make("ul", {}, ...dials), figure(device), make("p", { class: "soft", text: WORDS.runKey }), table(device), make("h4", { text: WORDS.over }), list(device.over)];
  if (device.notes.length) parts.push(make("h4", { text: WORDS.notes }), list(device.notes));
  return make("div", { class: "device" }, ...parts);
}

function table(device) {
  const heads = [...WORDS.checkColumns, ""].map((text) => (text ? make("th", { scope: "col", text }) : make("td", {})));
  const lines = device.checks.map((cells) => {
    const place = rowOf(cells[0]);
    const button = make("button", { type: "button", class: "no-print", text: WORDS.takeOutShort, "aria-label": WORDS.takeOut(place + 1), on: { click: () => takeOut(place) } });
    return make("tr", {}, make("th", { scope: "row", text: cells[0] }), ...cells.slice(1).map((text) => make("td", { text })), make("td", {}, button));
  });
  return make("div", { class: "table-scroll", tabindex: "0", role: "group", "aria-label": device.name }, make("table", {}, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...lines)));
}

/** Checks without a name are called after their row. */
function rowOf(name) {
  return Number(name.replace("check ", "")) - 1;
}

function figure(device) {
  const one = device.figure;
  const last = one.number.length;
  return chart({
    label: WORDS.runFigure(device.name),
    axes: WORDS.runAxes,
    data: [one.number, one.percent_of_set],
    series: [{ width: 1.5 }],
    x: [0.5, last + 0.5],
    least: 0,
    most: 1.1 * Math.max(130, ...one.high_percent_of_set),
    over: (drawn, pen) => {
      wall(drawn, pen, { y: 100, word: "100 %", width: 1 });
      if (one.target_percent_of_set !== null) wall(drawn, pen, { y: one.target_percent_of_set, dash: [9, 5] });
      if (one.alarm_at !== null) wall(drawn, pen, { x: one.alarm_at, word: WORDS.drift, colour: "--warn", width: 3 });
      one.number.forEach((x, place) => bar(drawn, pen, x, one.low_percent_of_set[place], one.high_percent_of_set[place]));
      one.number.forEach((x, place) => spot(drawn, pen, x, one.percent_of_set[place], "round"));
    },
  });
}

function bar(drawn, pen, x, low, high) {
  pen.strokeStyle = ink("--ink");
  pen.lineWidth = 2 * devicePixelRatio;
  const across = drawn.valToPos(x, "x", true);
  pen.beginPath();
  pen.moveTo(across, drawn.valToPos(low, "y", true));
  pen.lineTo(across, drawn.valToPos(high, "y", true));
  pen.stroke();
}
