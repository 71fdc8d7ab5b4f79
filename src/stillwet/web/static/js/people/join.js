/** Typing a join code. */

import { send } from "../api.js";
import { byId } from "../dom.js";

byId("join").addEventListener("submit", async (event) => {
  event.preventDefault();
  byId("join-says").textContent = "";
  try {
    await send("/api/join", { code: byId("code").value });
    location.assign("/");
  } catch (error) {
    byId("join-says").textContent = error.message;
    byId("code").focus();
  }
});
