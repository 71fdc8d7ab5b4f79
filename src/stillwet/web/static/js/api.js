/** Talking to this app's own API: JSON in, JSON out, one shape of trouble. */

/** What the server refused, as it said it. */
export class Refused extends Error {
  /** @param {number} status @param {{field:string,wanted:string,got:string,place:string,hint:string}[]} problems */
  constructor(status, problems) {
    super(problems.map(words).join("\n"));
    this.status = status;
    this.problems = problems;
  }
}

/** Nobody answered: no network, or the server is down. */
export class Unreachable extends Error {}

/** A problem in one line. @param {{field:string,wanted:string,got:string,place:string,hint:string}} one */
export function words(one) {
  const place = one.place ? ` (${one.place})` : "";
  const hint = one.hint ? `; ${one.hint}` : "";
  return `${one.field}: wanted ${one.wanted}, got ${one.got}${place}${hint}`;
}

/** GET as JSON. @param {string} address @param {AbortSignal} [signal] */
export function get(address, signal) {
  return ask(address, { signal });
}

/** POST or DELETE with a JSON body. @param {string} address @param {object} body @param {string} [method] */
export function send(address, body, method = "POST") {
  const headers = { "content-type": "application/json" };
  return ask(address, { method, headers, body: JSON.stringify(body) });
}

async function ask(address, options) {
  let answer;
  try {
    answer = await fetch(address, { ...options, credentials: "same-origin", cache: "no-store" });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Unreachable("the server does not answer");
  }
  const plain = await answer.json().catch(() => null);
  if (answer.ok && plain !== null) return plain;
  const unknown = [{ field: "server", wanted: "an answer", got: `status ${answer.status}`, place: "", hint: "" }];
  throw new Refused(answer.status, plain?.problems ?? unknown);
}
