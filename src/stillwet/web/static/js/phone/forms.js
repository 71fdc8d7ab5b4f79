/** The forms by kind of entry: what each shows, and the entries it makes of what was given. */

import { amount, amountsOf, facePicks, feelPicks, group, pick, select, text, windFrom } from "./fields.js";
import { make } from "../dom.js";
import { WORDS } from "./words.js";

/**
 * @typedef {{crew: string, faces: any[], others: any[], chosen: Set<string>, told: Record<string, any>,
 *   asked: Record<string, {unit: string, example: string}>, coats: string[]}} Here
 * @type {Record<string, {show: (here: Here) => Node[], read: (form: HTMLFormElement, here: Here) => any[]}>}
 */
export const FORMS = {
  coat: {
    show: (here) => [
      facePicks(here.faces, here.others, here.chosen),
      group(WORDS.howMuch,
        select("coat", WORDS.gauged, [["", WORDS.asPlanned], ...withTold(here.coats, here.told.coat)], here.told.coat ?? ""),
        amount("mix", WORDS.sprayed, here.asked.mix, here.told.mix),
        amount("ratio", WORDS.ratio, here.asked.ratio, here.told.ratio)),
    ],
    read: (form, here) => [
      { kind: "coat", crew: here.crew, faces: facesOf(form), ...some({ coat: value(form, "coat") }), ...amountsOf(form) },
    ],
  },
  check: {
    show: (here) => [feelPicks(here.faces, here.others, feelsOf(here))],
    read: (form) => {
      const touched = [...new FormData(form)].filter(([name]) => name.startsWith("feel "));
      if (!touched.length) throw new Error(WORDS.needFeel);
      return touched.map(([name, feel]) => ({ kind: "check", face: name.slice(5), feel }));
    },
  },
  weather: {
    show: (here) => [
      amount("temperature", WORDS.temperature, here.asked.temperature, here.told.temperature),
      amount("humidity", WORDS.humidity, here.asked.humidity, here.told.humidity),
      amount("wind", WORDS.wind, here.asked.wind, here.told.wind),
      windFrom(here.told.wind_from),
      pick("checkbox", "rain", "yes", WORDS.rain, here.told.rain === "yes"),
    ],
    read: (form) => [any({ ...amountsOf(form), ...some({ wind_from: value(form, "wind_from"), rain: value(form, "rain") }) }, { kind: "weather" })],
  },
  stock: {
    show: (here) => [
      ["water_left", WORDS.waterLeft], ["concentrate_left", WORDS.productLeft],
      ["water_taken", WORDS.waterTaken], ["concentrate_taken", WORDS.productTaken],
    ].map(([name, label]) => amount(name, label, here.asked.volume, here.told[name])),
    read: (form, here) => [any(amountsOf(form), { kind: "stock", crew: here.crew })],
  },
  spill: {
    show: (here) => [
      make("p", { class: "stop-warn", text: WORDS.spillFirst }),
      select("substance", WORDS.what, withTold(WORDS.substances, here.told.substance), here.told.substance ?? WORDS.substances[0]),
      text("place", WORDS.place, here.told.place),
      amount("amount", WORDS.amount, here.asked.volume, here.told.amount),
      pick("checkbox", "reached_water", "yes", WORDS.reached, here.told.reached_water === "yes"),
    ],
    read: (form) => {
      if (!value(form, "place")) throw new Error(WORDS.needPlace);
      const told = { substance: value(form, "substance"), place: value(form, "place") };
      return [{ kind: "spill", ...told, ...amountsOf(form), ...some({ reached_water: value(form, "reached_water") }) }];
    },
  },
  washed: {
    show: (here) => [facePicks(here.faces, here.others, here.chosen)],
    read: (form) => [{ kind: "washed", faces: facesOf(form) }],
  },
};

const value = (form, name) => String(new FormData(form).get(name) ?? "").trim();
const some = (told) => Object.fromEntries(Object.entries(told).filter(([, given]) => given));

function facesOf(form) {
  const found = new FormData(form).getAll("faces");
  if (!found.length) throw new Error(WORDS.needFace);
  return found.join(", ");
}

function any(told, head) {
  if (!Object.keys(told).length) throw new Error(WORDS.needAny);
  return { ...head, ...told };
}

/** What was told before stays a choice, also where it is none of ours. */
function withTold(choices, told) {
  return (told && !choices.includes(told) ? [told, ...choices] : choices).map((one) => [one, one]);
}

function feelsOf(here) {
  return new Map(here.told.feel ? [...here.chosen].map((face) => [face, here.told.feel]) : []);
}
