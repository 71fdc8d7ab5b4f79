/** Time against distance along one line: the plan as lines, what is logged as heavy strokes. */

import { make, svg } from "../dom.js";
import { hourTime } from "../times.js";
import { WORDS } from "./words.js";

const WIDE = 1000;
const HIGH = 420;
const LEFT = 150;
const RIGHT = 14;
const TOP = 12;
const BOTTOM = 40;
const STEPS_MIN = [5, 10, 15, 20, 30, 60, 120, 240, 480];
const MOST_TICKS = 8;

/** The figure of a line with its key. @param {any} line @param {string} nowIso */
export function lineFigure(line, nowIso) {
  const scale = scaleOf(line);
  const picture = svg("svg", { class: "line-figure", viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": label(line) });
  picture.append(...frame(line, scale), ...planned(line, scale), ...fire(line, scale), ...done(line, scale), ...nowLine(nowIso, scale));
  return make("figure", { class: "line-box" }, make("div", { class: "figure-scroll", tabindex: "0", role: "group", "aria-label": line.name }, picture), key(line));
}

function scaleOf(line) {
  const first = Date.parse(line.from);
  const span = Date.parse(line.to) - first;
  const x = (iso) => LEFT + Math.min(1, Math.max(0, (Date.parse(iso) - first) / span)) * (WIDE - LEFT - RIGHT);
  const y = (metres) => HIGH - BOTTOM - (metres / line.length_m) * (HIGH - BOTTOM - TOP);
  return { x, y, first, span };
}

function label(line) {
  const wet = line.planned.wet;
  const plan = wet.length ? WORDS.figurePlan([hourTime(Date.parse(wet[0][0])), hourTime(Date.parse(wet.at(-1)[0]))]) : WORDS.figureNoPlan;
  return WORDS.figure(line.name, plan, WORDS.figureDone(line.done.wet.length, line.done.lit.length));
}

function frame(line, { x, y, first, span }) {
  const parts = [];
  for (const part of line.segments) {
    parts.push(svg("line", { class: "fig-rule", x1: LEFT, x2: WIDE - RIGHT, y1: y(part.to_m), y2: y(part.to_m) }));
    const name = svg("text", { class: "fig-name", x: LEFT - 8, y: (y(part.from_m) + y(part.to_m)) / 2 + 5, "text-anchor": "end" });
    name.textContent = part.name.length > 15 ? `${part.name.slice(0, 14)}…` : part.name;
    parts.push(name);
  }
  const step = (STEPS_MIN.find((minutes) => span / 60000 / minutes <= MOST_TICKS) ?? 720) * 60000;
  for (let moment = Math.ceil(first / step) * step; moment < first + span; moment += step) {
    const at = x(new Date(moment).toISOString());
    parts.push(svg("line", { class: "fig-tick", x1: at, x2: at, y1: TOP, y2: HIGH - BOTTOM }));
    const time = svg("text", { class: "fig-time", x: at, y: HIGH - BOTTOM + 24, "text-anchor": "middle" });
    time.textContent = hourTime(moment);
    parts.push(time);
  }
  parts.push(svg("line", { class: "fig-axis", x1: LEFT, x2: WIDE - RIGHT, y1: y(0), y2: y(0) }), svg("line", { class: "fig-axis", x1: LEFT, x2: LEFT, y1: TOP, y2: y(0) }));
  return parts;
}

function planned(line, scale) {
  const { wet, lit, latest, dry_90: sure, dry_50: even } = line.planned;
  const parts = [];
  if (line.is_lit && latest.length) {
    const end = line.to;
    parts.push(area("fig-late", [...latest, [end, latest.at(-1)[1]], [end, latest[0][1]]], scale));
    if (lit.length) parts.push(area("fig-spare", [...lit, ...latest.filter((point) => point[1] <= lit.at(-1)[1]).reverse()], scale));
  }
  parts.push(path("fig-latest", latest, scale), path("fig-dry", sure, scale), path("fig-even", even, scale), path("fig-wet", wet, scale), path("fig-lit", lit, scale));
  return parts;
}

function done(line, scale) {
  const parts = line.done.wet.flatMap((one) => [path("fig-done-latest", one.latest, scale), path("fig-done-dry", one.dry_90, scale), path(one.is_guessed ? "fig-done-wet guessed" : "fig-done-wet", one.wet, scale)]);
  parts.push(...line.done.lit.map((one) => path(one.is_guessed ? "fig-done-lit guessed" : "fig-done-lit", one.lit, scale)));
  const torches = line.done.lit.map((one) => one.lit.at(-1)).concat(line.done.torch ? [line.done.torch] : []);
  parts.push(...torches.map(([when, at]) => torch(scale.x(when), scale.y(at))));
  return parts;
}

function fire(line, { x, y }) {
  if (!line.fire) return [];
  const from = x(line.fire[0]);
  return [svg("rect", { class: "fig-fire", x: from, y: TOP, width: Math.max(3, x(line.fire[1]) - from), height: y(0) - TOP })];
}

function nowLine(iso, { x, first, span }) {
  const ms = Date.parse(iso);
  if (ms < first || ms > first + span) return [];
  const text = svg("text", { class: "fig-now-word", x: x(iso) + 5, y: TOP + 14 });
  text.textContent = WORDS.now;
  return [svg("line", { class: "fig-now", x1: x(iso), x2: x(iso), y1: TOP, y2: HIGH - BOTTOM }), text];
}

function torch(x, y) {
  return svg("path", { class: "fig-torch", d: `M${x - 7} ${y + 6}H${x + 7}L${x} ${y - 9}Z` });
}

function path(name, points, { x, y }) {
  const way = points.filter(([when]) => when !== null).map(([when, at], number) => `${number ? "L" : "M"}${x(when).toFixed(1)} ${y(at).toFixed(1)}`);
  return svg("path", { class: name, d: way.join("") || "M0 0" });
}

function area(name, points, scale) {
  const shape = path(name, points, scale);
  shape.setAttribute("d", `${shape.getAttribute("d")}Z`);
  return shape;
}

const SAMPLES = { "plan-wet": "fig-wet", "plan-lit": "fig-lit", "plan-latest": "fig-latest", "plan-dry": "fig-dry", "plan-even": "fig-even", "done-wet": "fig-done-wet" };

function key(line) {
  const shown = Object.keys(WORDS.key).filter((name) => (line.is_lit ? name !== "fire" : !["plan-lit", "done-lit", "spare", "late"].includes(name)));
  const parts = shown.map((name) => make("span", {}, sample(name), ` ${name === "plan-latest" && !line.is_lit ? WORDS.latestUnlit : WORDS.key[name]}`));
  return make("figcaption", { class: "key" }, ...parts);
}

function sample(name) {
  const box = svg("svg", { class: "key-mark", viewBox: "0 0 40 16", "aria-hidden": "true" });
  if (SAMPLES[name]) box.append(svg("path", { class: SAMPLES[name], d: "M1 8H39" }));
  else if (name === "done-lit") box.append(torch(20, 9));
  else box.append(svg("rect", { class: `fig-${name}`, x: 1, y: 1, width: 38, height: 14 }));
  return box;
}
