/** Shapes as well-known text, and as lines of "latitude, longitude" that can be typed. */

import { WORDS } from "./words.js";

const PAIR = /^\s*(-?\d+(?:\.\d+)?)\s*(?:°|deg)?\s*[,;\s]\s*(-?\d+(?:\.\d+)?)\s*(?:°|deg)?\s*$/;

/** "39.75, -105.2" as [latitude, longitude], or null. @param {string} text */
export function readPair(text) {
  const match = PAIR.exec(text);
  if (!match) return null;
  const [latitude, longitude] = [Number(match[1]), Number(match[2])];
  return Math.abs(latitude) <= 90 && Math.abs(longitude) <= 180 ? [latitude, longitude] : null;
}

/** The corners of a shape, one a line; a ring's first corner is not said twice. @param {string} shape */
export function cornersOf(shape) {
  const pairs = [...shape.matchAll(/(-?\d+(?:\.\d+)?(?:e-?\d+)?)\s+(-?\d+(?:\.\d+)?(?:e-?\d+)?)/gi)].map((one) => `${one[2]}, ${one[1]}`);
  if (shape.startsWith("POLYGON") && pairs[0] === pairs.at(-1)) pairs.pop();
  return pairs.join("\n");
}

/**
 * Well-known text of typed corners.
 * @param {string} text @param {string} list @param {string} kind of the asset
 * @returns {{shape: string, problem: string}}
 */
export function shapeOf(text, list, kind) {
  const lines = text.split("\n").map((one) => one.trim()).filter(Boolean);
  if (!lines.length) return { shape: "", problem: "" };
  const pairs = lines.map(readPair);
  const bad = pairs.indexOf(null);
  if (bad >= 0) return { shape: "", problem: WORDS.cornersBad(bad + 1, lines[bad]) };
  const spots = pairs.map(([latitude, longitude]) => `${longitude} ${latitude}`);
  const isTrack = list !== "assets" || kind === "fence" || kind === "bridge";
  if (list === "assets" && spots.length === 1) return { shape: `POINT (${spots[0]})`, problem: "" };
  if (spots.length < (isTrack ? 2 : 3)) return { shape: "", problem: WORDS.cornersFew(isTrack ? 2 : 3) };
  if (isTrack) return { shape: `LINESTRING (${spots.join(", ")})`, problem: "" };
  return { shape: `POLYGON ((${[...spots, spots[0]].join(", ")}))`, problem: "" };
}

/** Where a row stands as [latitude, longitude]: typed, else drawn as a point; null elsewhere. @param {any} row */
export function spotOf(row) {
  const { latitude, longitude } = row.fields;
  if (latitude !== undefined || longitude !== undefined) return readPair(`${latitude}, ${longitude}`);
  const match = /^POINT\s*\(\s*(\S+)\s+(\S+?)\s*\)$/.exec(row.shape);
  return match ? [Number(match[2]), Number(match[1])] : null;
}
