/** The wet board: asks for what is left, shows it, and asks again whenever anything changes. */

import { get, Unreachable } from "../api.js";
import { byId, make } from "../dom.js";
import { listen, sayAnswered } from "../live.js";
import { now, shortTime } from "../times.js";
import { showAlarms, startAlarms } from "./alarms.js";
import { faceRow } from "./bands.js";
import { showStates, startMap } from "./map.js";
import { WORDS } from "./words.js";

const EVERY_MS = 60000; // time passes even when nobody logs anything
const WAIT_MS = 150; // while the scrubber is being moved

let lookingAt = null; // a moment in ms, or null for now
let asked = null;

async function refresh() {
  asked?.abort();
  asked = new AbortController();
  const at = lookingAt === null ? "" : `at=${encodeURIComponent(new Date(lookingAt).toISOString())}&`;
  const units = document.documentElement.dataset.units;
  try {
    show(await get(`/api/board?${at}units=${units}`, asked.signal));
    sayAnswered(true);
  } catch (error) {
    if (error.name === "AbortError") return;
    if (error instanceof Unreachable) sayAnswered(false);
    else byId("board-state").textContent = WORDS.trouble(error.message);
  }
}

function show(board) {
  byId("faces").replaceChildren(...board.faces.map((face) => faceRow(face, board)));
  byId("board-weather").textContent = board.weather.words;
  byId("board-state").textContent = stateWords(board);
  byId("board-rest").replaceChildren(...rest(board));
  document.body.classList.toggle("looking-ahead", lookingAt !== null);
  showStates(board.faces);
  if (lookingAt === null) {
    showAlarms(board.alarms);
    setScrubber(board);
  }
  document.body.dataset.logRow = board.log_row;
}

function stateWords(board) {
  if (lookingAt !== null) return (lookingAt < now() ? WORDS.behind : WORDS.ahead)(shortTime(lookingAt));
  return board.faces.length ? "" : WORDS.empty;
}

function rest(board) {
  const lines = [];
  if (board.washed.length) lines.push(WORDS.washed(board.washed.join("; ")));
  if (board.passed.length) lines.push(WORDS.passed(board.passed.join("; ")));
  return [...lines, ...board.notes].map((text) => make("p", { text }));
}

function setScrubber(board) {
  const input = byId("scrub");
  const first = Date.parse(board.at);
  input.min = "0";
  input.max = String(Math.max(60, Math.round((Date.parse(board.to) - first) / 60000)));
  input.dataset.first = String(first);
  input.value = "0";
  input.disabled = false;
  input.setAttribute("aria-valuetext", WORDS.now);
}

function onScrub() {
  const input = byId("scrub");
  const minutes = Number(input.value);
  const step = 15 * 60000; // on the quarter of an hour
  const moment = Math.floor((Number(input.dataset.first) + minutes * 60000) / step) * step;
  lookingAt = minutes === 0 ? null : moment;
  const words = lookingAt === null ? WORDS.now : shortTime(lookingAt);
  byId("scrub-time").textContent = words;
  input.setAttribute("aria-valuetext", words);
  byId("scrub-now").hidden = lookingAt === null;
  clearTimeout(onScrub.timer);
  onScrub.timer = setTimeout(refresh, WAIT_MS);
}

function backToNow() {
  byId("scrub").value = "0";
  onScrub();
  byId("scrub").focus();
}

function choose(assetId) {
  document.querySelectorAll(".face.chosen").forEach((row) => row.classList.remove("chosen"));
  const rows = [...document.querySelectorAll(".face")].filter((row) => row.dataset.asset === assetId);
  rows.forEach((row) => row.classList.add("chosen"));
  rows[0]?.scrollIntoView({ block: "start" });
}

byId("scrub").addEventListener("input", onScrub);
byId("scrub-now").addEventListener("click", backToNow);
document.addEventListener("units", refresh);
startAlarms();
await refresh();
listen(refresh);
setInterval(refresh, EVERY_MS);
startMap(choose).then(refresh, (error) => byId("map").append(make("p", { text: WORDS.trouble(error.message) })));
