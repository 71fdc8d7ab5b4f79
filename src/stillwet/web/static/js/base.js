/** On every page: the clock, and the switches for units and light. */

import { dayTime, hourTime, now } from "./times.js";

const YEAR_S = 31536000;
const clock = document.getElementById("clock");
const dayLine = document.getElementById("clock-day");
const zoneWords = dayLine?.textContent?.split(", ").slice(1).join(", ") ?? "";

function tick() {
  const ms = now();
  if (clock) {
    clock.textContent = hourTime(ms);
    clock.setAttribute("datetime", new Date(ms).toISOString());
  }
  if (dayLine) dayLine.textContent = `${dayTime(ms)}, ${zoneWords}`;
}

function keep(name, value) {
  document.cookie = `${name}=${value}; Path=/; Max-Age=${YEAR_S}; SameSite=Strict`;
}

function onSwitch(event) {
  const { name, value } = event.target;
  keep(name, value);
  if (name === "light") document.documentElement.dataset.light = value;
  if (name === "units") document.documentElement.dataset.units = value;
  document.dispatchEvent(new CustomEvent(name));
}

for (const input of document.querySelectorAll("[data-switch] input")) input.addEventListener("change", onSwitch);
document.querySelector(".doors [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
setInterval(tick, 1000);
tick();
