/** Live updates: hear of a change, then ask for it. Says on the page when the line is down. */

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 10000;

/**
 * Call `changed(topic)` at every change; "all" when anything may have changed.
 * @param {(topic: string) => void} changed
 * @param {(isUp: boolean) => void} [told] hears when the line goes down and comes up again
 */
export function listen(changed, told = sayLine) {
  let wait = FIRST_WAIT_MS;
  let wasDown = false;
  const open = () => {
    const source = new EventSource("/api/events");
    source.addEventListener("open", () => {
      wait = FIRST_WAIT_MS;
      told(true);
      if (wasDown) changed("all");
      wasDown = false;
    });
    source.addEventListener("changed", (event) => changed(JSON.parse(event.data).topic));
    source.addEventListener("error", () => {
      wasDown = true;
      told(false);
      if (source.readyState !== EventSource.CLOSED) return; // the browser tries again by itself
      setTimeout(open, wait);
      wait = Math.min(2 * wait, LONGEST_WAIT_MS);
    });
  };
  open();
}

const isHeard = { stream: true, answers: true };

/** Say in the page's own line whether it still hears. @param {boolean} isUp */
export function sayLine(isUp) {
  isHeard.stream = isUp;
  say();
}

/** The same of what the page asks by itself. @param {boolean} isAnswered */
export function sayAnswered(isAnswered) {
  isHeard.answers = isAnswered;
  say();
}

function say() {
  const line = document.getElementById("line-state");
  if (line) line.textContent = isHeard.stream && isHeard.answers ? "" : "No connection: what you see may be old. Trying again.";
}
