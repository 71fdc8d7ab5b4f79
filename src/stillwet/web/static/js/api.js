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

/** POST a form with a file. @param {string} address @param {FormData} body */
export function sendForm(address, body) {
  return ask(address, { method: "POST", body });
}

/** POST or DELETE with a JSON body. @param {string} address @param {object} body @param {string} [method] */
export function send(address, body, method = "POST") {
  const headers = { "content-type": "application/json" };
  return ask(address, { method, headers, body: JSON.stringify(body) });
}

async function ask(address, options) {
  const { answer, plain } = await answered(address, options);
  if (answer.ok && plain !== null) return plain;
  const unknown = [{ field: "server", wanted: "an answer", got: `status ${answer.status}`, place: "", hint: "" }];
  throw new Refused(answer.status, plain?.problems ?? unknown);
}

/** The answer with its JSON, null where it is none. A network that breaks off half way gave no answer. */
async function answered(address, options) {
  try {
    const answer = await fetch(address, { ...options, credentials: "same-origin", cache: "no-store" });
    const text = await answer.text();
    return { answer, plain: parsed(text) };
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Unreachable("the server does not answer");
  }
}

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null; // whoever asked is told the status
  }
}
