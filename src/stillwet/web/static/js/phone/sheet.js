/** The sheet that opens over the page: a form, with Save and a way out. */

import { byId, make } from "../dom.js";
import { now } from "../times.js";
import { momentOf, text, whenField } from "./fields.js";
import { FORMS } from "./forms.js";
import { WORDS } from "./words.js";

/** True while a sheet is open. */
export const isOpen = () => byId("sheet").open;

/**
 * Ask for an entry of a kind; `save` gets what the form made of it, once.
 * @param {string} kind
 * @param {any} here what the form needs to know, see forms.js; `before` is the entry it corrects
 * @param {(told: any[]) => Promise<void>} save
 */
export function askEntry(kind, here, save) {
  const { before } = here;
  open(WORDS.titles[kind], [
    before ? make("p", { class: "stop-warn", text: WORDS.corrects(before.says) }) : null,
    ...FORMS[kind].show(here),
    whenField(before),
    text("note", WORDS.note, here.told.note),
  ], (form) => {
    const data = new FormData(form);
    const note = String(data.get("note")).trim();
    const when = new Date(momentOf(String(data.get("when")), now())).toISOString();
    return save(FORMS[kind].read(form, here).map((told) => ({ ...told, when, ...(note ? { note } : {}) })));
  });
}

/** Ask for the name that stands beside entries. */
export function askName(name, save) {
  open(WORDS.name, [text("name", WORDS.name, name), make("p", { text: WORDS.nameHint })], async (form) => {
    const given = String(new FormData(form).get("name")).trim();
    if (given) await save(given);
  });
}

/** Ask whether to do what cannot be made undone by pressing again. */
export function askSure(title, says, yes, work) {
  open(title, [make("p", { text: says })], work, yes);
}

function open(title, parts, work, yes = WORDS.save) {
  const sheet = byId("sheet");
  const trouble = make("p", { class: "problems", role: "alert", hidden: true });
  const button = make("button", { type: "submit", class: "main", text: yes });
  const away = make("button", { type: "button", text: WORDS.stopWithout, on: { click: () => sheet.close() } });
  const form = make("form", { novalidate: true }, make("h2", { id: "sheet-title", text: title }),
    ...parts, trouble, make("div", { class: "sheet-end" }, away, button));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (button.disabled) return;
    button.disabled = true; // a second tap of a gloved hand saves nothing twice
    try {
      await work(form);
      sheet.close();
    } catch (error) {
      trouble.textContent = error.message;
      trouble.hidden = false;
      trouble.scrollIntoView({ block: "nearest" });
      button.disabled = false;
    }
  });
  sheet.replaceChildren(form);
  sheet.showModal();
  sheet.scrollTop = 0;
}
