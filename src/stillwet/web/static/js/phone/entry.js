/** Entries of the log as this phone makes them. */

import { newId } from "../ids.js";
import { now } from "../times.js";

/**
 * An entry. `when` is told by the page's clock, which follows the server's; `written` by the phone's
 * own. Neither is changed afterwards.
 * @param {{kind: string, when?: string}} told what the form gave; `when` in ISO 8601, else now
 * @param {{writer: string, device: string}} self
 * @param {string|null} replaces id of the entry that this one corrects
 */
export function makeEntry({ when, ...told }, self, replaces = null) {
  const found = {
    id: newId(),
    when: when ?? new Date(now()).toISOString(),
    written: new Date().toISOString(),
    by: self.writer,
    device: self.device,
    ...told,
  };
  return replaces ? { ...found, replaces } : found;
}

/** The faces an entry is about. @param {any} entry */
export function facesOf(entry) {
  if (entry.face) return [entry.face];
  return entry.faces ? entry.faces.split(",").map((name) => name.trim()) : [];
}

/**
 * What an entry says, before the server has told it in its own words.
 * @param {any} entry @param {(face: string) => string} nameOf
 */
export function saysOf(entry, nameOf, words) {
  const faces = facesOf(entry).map(nameOf).join("; ");
  const skip = new Set(["id", "when", "written", "by", "device", "kind", "faces", "face", "crew", "replaces", "note"]);
  const rest = Object.entries(entry)
    .filter(([key, value]) => !skip.has(key) && value)
    .map(([key, value]) => (key === "feel" ? `feels ${value}` : `${key.replaceAll("_", " ")} ${value}`));
  if (entry.kind === "withdrawn") return words.withdrawn;
  if (entry.kind === "coat" && !rest.length) rest.push(words.planned);
  const title = words.titles[entry.kind].toLowerCase();
  return `${[`${title}${faces ? `: ${faces}` : ""}`, ...rest].join(", ")}`;
}
