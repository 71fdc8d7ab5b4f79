/** Typing a join code. */

import { send } from "../api.js";
import { byId } from "../dom.js";

/** The page of the crew whose code was scanned, else the first. What the query says is never an address. */
function onward() {
  const crew = new URLSearchParams(location.search).get("crew");
  return crew ? `/crew/${encodeURIComponent(crew)}` : "/";
}

byId("join").addEventListener("submit", async (event) => {
  event.preventDefault();
  byId("join-says").textContent = "";
  try {
    await send("/api/join", { code: byId("code").value });
    location.assign(onward());
  } catch (error) {
    byId("join-says").textContent = error.message;
    byId("code").focus();
  }
});
