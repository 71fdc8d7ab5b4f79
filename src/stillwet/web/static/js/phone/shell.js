/** The worker that opens this page without a network, where the browser allows one. */

import { byId } from "../dom.js";
import { isOpen } from "./sheet.js";
import { WORDS } from "./words.js";

/** Start it and say in plain words what that means; where it is refused the page says so. */
export async function startWorker() {
  byId("offline-state").textContent = (await isStarted()) ? WORDS.worksOffline : WORDS.onlyOpen;
}

async function isStarted() {
  if (!("serviceWorker" in navigator)) return false; // not offered on a plain page of the network
  const had = navigator.serviceWorker.controller !== null;
  try {
    await navigator.serviceWorker.register("/phone-worker.js", { scope: "/crew" });
    navigator.serviceWorker.addEventListener("controllerchange", () => {
      if (had && !isOpen()) location.reload(); // a newer page is here
    });
    await navigator.serviceWorker.ready;
    return true;
  } catch {
    return navigator.serviceWorker.controller !== null; // without a network the one from before serves
  }
}

/** A kept page stands as it was kept: put the switches as they were set last. */
export function rememberSwitches() {
  for (const name of ["units", "light"]) {
    const value = document.cookie.match(new RegExp(`(?:^|; )${name}=(\\w+)`))?.[1];
    const input = document.querySelector(`input[name="${name}"][value="${value}"]`);
    if (!input) continue;
    input.checked = true;
    document.documentElement.dataset[name] = value;
  }
}
