/** Times as the job's own clock shows them. */

const root = document.documentElement.dataset;
const OFFSET = /^UTC([+-]\d{2}:\d{2})$/;

/** The job's zone in the browser's spelling. */
export const ZONE = (root.zone ?? "UTC").replace(OFFSET, "$1");

const ahead = Date.parse(root.now ?? "") - Date.now(); // the server's clock is the one that counts

/** The server's clock now, in milliseconds. */
export function now() {
  return Date.now() + (Number.isNaN(ahead) ? 0 : ahead);
}

const hourMinute = { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: ZONE };
const short = new Intl.DateTimeFormat("en-GB", { weekday: "short", ...hourMinute });
const hour = new Intl.DateTimeFormat("en-GB", hourMinute);
const day = new Intl.DateTimeFormat("en-GB", { weekday: "short", day: "numeric", month: "short", year: "numeric", timeZone: ZONE });

/** "Wed 14:30". @param {number} ms */
export const shortTime = (ms) => short.format(ms).replace(",", "");

/** "14:30". @param {number} ms */
export const hourTime = (ms) => hour.format(ms);

/** "Wed 14 Aug 2030". @param {number} ms */
export const dayTime = (ms) => day.format(ms).replaceAll(",", "");
