/** Elements from plain values. Text goes in as text, never as markup. */

const SVG = "http://www.w3.org/2000/svg";

/**
 * An HTML element. Keys of `props`: class, text, or any attribute; `on` maps event names to handlers.
 * @param {string} tag
 * @param {Record<string, any>} [props]
 * @param {...(Node|string|null)} children
 * @returns {HTMLElement}
 */
export function make(tag, props = {}, ...children) {
  return fill(document.createElement(tag), props, children);
}

/**
 * An SVG element.
 * @param {string} tag
 * @param {Record<string, any>} [props]
 * @param {...Node} children
 * @returns {SVGElement}
 */
export function svg(tag, props = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), props, children);
}

/**
 * The shape that stands for a state ("coat it now"), beside its word.
 * @param {string} state
 */
export function mark(state) {
  const use = svg("use", { href: `/static/img/shapes.svg#${state.replaceAll(" ", "-")}` });
  return svg("svg", { class: "mark", "aria-hidden": "true" }, use);
}

/** A colour of the page as it is now, for what is painted. @param {string} name */
export const ink = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/**
 * An element of the page that has to be there.
 * @param {string} id
 * @returns {any}
 */
export function byId(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`no element ${id}`);
  return found;
}

function fill(element, props, children) {
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "text") element.textContent = value;
    else if (name === "on") for (const [event, handler] of Object.entries(value)) element.addEventListener(event, handler);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.filter((child) => child !== null));
  return element;
}
