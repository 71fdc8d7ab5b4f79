/** Who asked for what, newest first, for the lead. */

import { get } from "../api.js";
import { byId, make } from "../dom.js";
import { listen } from "../live.js";
import { dayTime, hourTime } from "../times.js";
import { WORDS } from "./words.js";

let shown = { first: 0, last: 0 }; // the rows at both ends of the list

function line(one) {
  const ms = Date.parse(one.when);
  const when = make("time", { datetime: one.when, text: `${dayTime(ms)}, ${hourTime(ms)}` });
  const who = make("strong", { text: one.who });
  const from = make("span", { class: "from", text: [one.device, one.address].filter(Boolean).join(", ") });
  return make("li", {}, when, make("span", {}, who, `: ${one.words}`), from);
}

/** The newest lines: put before those shown, or in their place where some between would be missing. */
async function refresh() {
  const { lines, has_more } = await get("/api/audit");
  const fresh = lines.filter((one) => one.row > shown.first);
  if (fresh.length < lines.length) {
    byId("audit").prepend(...fresh.map(line));
    shown.first = lines[0].row;
    return;
  }
  byId("audit").replaceChildren(...(lines.length ? lines.map(line) : [make("li", { text: WORDS.nothing })]));
  shown = { first: lines[0]?.row ?? 0, last: lines.at(-1)?.row ?? 0 };
  byId("audit-older").hidden = !has_more;
}

async function older() {
  const { lines, has_more } = await get(`/api/audit?before=${shown.last}`);
  byId("audit").append(...lines.map(line));
  shown.last = lines.at(-1)?.row ?? shown.last;
  byId("audit-older").hidden = !has_more;
}

async function doing(work) {
  byId("audit-says").textContent = "";
  try {
    await work();
  } catch (error) {
    byId("audit-says").textContent = error.message;
  }
}

byId("audit-older").addEventListener("click", () => doing(older));
doing(refresh);
listen(() => doing(refresh));
