/** The plan: make it, follow it, stop it; then its answer, verdicts first. */

import { get, Refused, send, words } from "../api.js";
import { make } from "../dom.js";
import { changePart, whyPart } from "./why.js";
import { desk, flush, stepOf } from "./draft.js";
import { carried, carry } from "./keep.js";
import { resultPart } from "./result.js";
import { WORDS } from "./words.js";

const ASK_MS = 400;
const MOST_TOLD = 30;

/** A run with its bar and its stop. @param {string} kind @param {(run: any) => void} over @param {() => void} [begun] */
function runner(kind, over, begun = () => {}) {
  const bar = make("progress", { max: "1", value: "0", "aria-label": kind === "coats" ? WORDS.make : WORDS.packet });
  const label = make("p", { class: "run-label", role: "status" });
  const stop = make("button", { type: "button", text: WORDS.stop });
  const box = make("div", { class: "run", hidden: true }, bar, stop);
  let running = "";
  let isStarting = false;
  stop.addEventListener("click", () => running && send(`/api/runs/${running}`, {}, "DELETE").catch(tell));
  const tell = (error) => {
    label.textContent = error.message;
    label.classList.add("bad");
  };
  const show = (run) => {
    running = run.state === "running" ? run.id : "";
    box.hidden = !running;
    bar.value = run.share;
    label.classList.toggle("bad", run.state === "failed");
    label.textContent = { running: run.label, done: "", stopped: WORDS.stopped, failed: run.problems.map(words).join("\n") }[run.state];
  };
  const follow = async (run) => {
    show(run);
    begun();
    while (run.state === "running") {
      await new Promise((resolve) => setTimeout(resolve, ASK_MS));
      run = await get(`/api/runs/${run.id}`).catch((error) => ended(run, error));
      show(run);
    }
    over(run);
  };
  const start = async () => {
    if (running || isStarting) return;
    isStarting = true;
    await flush();
    const run = await send("/api/runs", { kind }).catch((error) => ended({ share: 0 }, error, true));
    isStarting = false;
    await follow(run);
  };
  return { box, label, start, follow, isRunning: () => Boolean(running) };
}

/** A run that the server knows no more has failed; one that it cannot be asked for may still go on. */
function ended(run, error, isSure = error instanceof Refused) {
  const none = { field: "server", wanted: "an answer", got: "none", place: "", hint: "try again" };
  return isSure ? { ...run, state: "failed", problems: error.problems ?? [none] } : run;
}

/** The zone of the job kept now where it is another than this page's clock has, else "". */
async function otherZone() {
  const job = await get("/api/job").catch(() => null);
  return job?.time_zone && job.time_zone !== document.documentElement.dataset.zone ? job.time_zone : "";
}

/** Times are set up once a page: begin anew in the zone, and say there what was to be said here. */
function loadIn(zone, says) {
  carry(`${says} ${WORDS.zoneNow(zone)}`);
  location.reload();
}

/** Everything of the last step beside its fields. */
export function planPart() {
  const result = make("div", { class: "result" });
  const state = make("p", { class: "plan-state", role: "status" });
  const since = make("p", { class: "plan-since", id: "plan-since", role: "status" });
  const packet = packetPart();
  const why = whyPart();
  const change = changePart();
  const coats = runner("coats", async (run) => {
    if (run.state === "done") {
      state.textContent = WORDS.planned(run.result.plan_id);
      const zone = await otherZone();
      if (zone) return loadIn(zone, state.textContent);
    }
    showPlan();
  }, () => refresh());
  const press = make("button", { type: "button", class: "main", id: "make-plan", text: WORDS.make, on: { click: () => coats.start() } });
  const reason = make("p", { id: "make-plan-says", class: "plan-says" });
  press.setAttribute("aria-describedby", "make-plan-says");
  const list = make("ul", { class: "problems", hidden: true });
  const box = make("section", { class: "part", "aria-label": WORDS.thePlan }, press, reason, list, coats.box, coats.label, state, since, result, why.box, make("div", { class: "after", hidden: true }, change, packet.box));
  const after = box.querySelector(".after");
  let shown = null;

  async function showPlan() {
    let found;
    try {
      found = await get(`/api/plan?units=${document.documentElement.dataset.units}`);
    } catch (error) {
      if (!shown) result.replaceChildren(make("p", { class: "bad", text: WORDS.noShow(error.message) }));
      return;
    }
    shown = found.plan;
    since.textContent = found.trials_since;
    if (shown) tellHead(shown);
    result.replaceChildren(...(found.plan ? resultPart(found.plan, why.ask) : [make("p", { text: WORDS.noPlan })]));
    after.hidden = !found.plan;
    packet.tell(found.has_packet);
    const run = found.run;
    if (run?.state === "running" && run.kind === "coats" && !coats.isRunning()) coats.follow(run);
    refresh();
  }

  function refresh() {
    const count = desk.check?.problems.length ?? 0;
    press.disabled = !desk.check?.is_sound || coats.isRunning();
    press.textContent = shown ? WORDS.makeAgain : WORDS.make;
    reason.textContent = desk.noCheck ? WORDS.noCheck(desk.noCheck) : !desk.check ? WORDS.checking : count ? WORDS.mendFirst(count) : WORDS.sound;
    list.hidden = !count;
    list.replaceChildren(...troubles());
    const isOld = shown && desk.draft.is_ahead;
    if (isOld) state.textContent = WORDS.ahead;
    else if (state.textContent === WORDS.ahead) state.textContent = "";
  }
  showPlan().then(() => (state.textContent ||= carried()));
  return { box, refresh, again: showPlan };
}

/** The head of the page was written before there was a plan. */
function tellHead(shown) {
  document.querySelector(".top-plan").textContent = `plan ${shown.plan_id}`;
  document.querySelector(".top-name").textContent = desk.draft.is_ahead ? document.querySelector(".top-name").textContent : desk.draft.texts["job.name"];
}

/** What is to be mended, with the way to it. */
function troubles() {
  return (desk.check?.problems ?? []).slice(0, MOST_TOLD).map((one) => {
    const step = stepOf(one.spot);
    return make("li", {}, make("a", { href: `#${step.id}`, text: WORDS.mendAt(step.title, one) }));
  });
}

function packetPart() {
  const link = make("a", { class: "button", href: "/api/packet.pdf", target: "_blank", rel: "noopener", text: WORDS.openPacket, hidden: true });
  const notes = make("div");
  const run = runner("packet", (done) => {
    tell(done.state === "done");
    notes.replaceChildren(...(done.result?.missing ?? []).map((text) => make("p", { text })));
  });
  const press = make("button", { type: "button", text: WORDS.packet, on: { click: () => run.start() } });
  const tell = (isMade) => {
    link.hidden = !isMade;
    if (!isMade) notes.replaceChildren();
  };
  return { tell, box: make("section", { class: "part" }, make("h3", { text: WORDS.packet }), make("p", { text: WORDS.packetSays }), press, run.box, run.label, link, notes) };
}
