/** Letting people in and out. */

import { get, send } from "../api.js";
import { byId, make } from "../dom.js";
import { listen } from "../live.js";
import { WORDS } from "./words.js";

async function refresh() {
  const { people } = await get("/api/people");
  const rows = people.map(row);
  byId("people").replaceChildren(...(rows.length ? rows : [make("li", { text: WORDS.none })]));
}

function row(person) {
  const name = make("span", { class: person.is_out ? "out" : "", text: person.name });
  const what = make("span", { text: person.is_out ? WORDS.out : WORDS.may[person.role] });
  const button = make("button", { type: "button", text: WORDS.letOut(person.name), on: { click: () => doing(() => send("/api/people", { id: person.id }, "DELETE")) } });
  return make("li", {}, name, what, person.is_out ? null : button);
}

async function letIn() {
  const made = await send("/api/people", { name: byId("name").value, role: byId("role").value });
  byId("new-code").replaceChildren(WORDS.code(made.name), make("strong", { text: made.code }));
  byId("let-in").reset();
}

async function doing(work) {
  byId("people-says").textContent = "";
  try {
    await work();
    await refresh();
  } catch (error) {
    byId("people-says").textContent = error.message;
  }
}

byId("let-in").addEventListener("submit", (event) => {
  event.preventDefault();
  doing(letIn);
});
doing(refresh);
listen((topic) => (topic === "people" || topic === "all" ? doing(refresh) : null));
