/**
 * Elements made in one line, and the few forms that every station uses.  Text is always set as text, never as markup; styles go
 * through classes or el.style (the page allows no style attribute).
 */
// SPDX-License-Identifier: Apache-2.0

/** The namespace of drawings, read off the browser's own element. */
const SVG = new DOMParser().parseFromString("<svg></svg>", "text/html").querySelector("svg").namespaceURI;
let count = 0;

/** A new id for a label and what it names. @param {string} stem */
export function newId(stem) {
  count += 1;
  return `${stem}-${count}`;
}

/**
 * Makes an element.  Of the properties, class, text and on ({event: listener}) are special, a function's name is no property;
 * true sets an empty attribute, false and null leave it out.
 * @param {string} tag @param {Record<string, any>} properties @param {...(Node | string | null | false)} children
 */
export function el(tag, properties = {}, ...children) {
  return fill(document.createElement(tag), properties, children);
}

/**
 * The same for SVG.
 * @param {string} tag
 * @param {Record<string, any>} properties
 * @param {...(Node | string | null | false)} children
 */
export function svgEl(tag, properties = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), properties, children);
}

/**
 * @template {Element} T
 * @param {T} node
 * @param {Record<string, any>} properties
 * @param {(Node | string | null | false)[]} children
 */
function fill(node, properties, children) {
  for (const [name, value] of Object.entries(properties)) {
    if (value === false || value === null || value === undefined) continue;
    if (name === "text") node.textContent = value;
    else if (name === "on") for (const [event, listener] of Object.entries(value)) node.addEventListener(event, listener);
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  node.append(...children.filter((child) => child !== null && child !== false && child !== undefined));
  return node;
}

/** Replaces what is in a node. @param {Element} node @param {...(Node | string | null | false)} children */
export function show(node, ...children) {
  node.replaceChildren(...children.filter((child) => child !== null && child !== false && child !== undefined));
  return node;
}

/**
 * A button that says what it does.
 * @param {string} text
 * @param {(event: Event) => void} click
 * @param {Record<string, any>} more
 */
export function button(text, click, more = {}) {
  return el("button", { type: "button", class: "button", ...more, text, on: { click } });
}

/**
 * A labelled input with its unit, a hint, and a place for what was wrong with it.
 * @param {{label: string, input: Element, unit?: string, hint?: string}} told @returns {{node: Element, fault: Element}}
 */
export function labelled({ label, input, unit = "", hint = "" }) {
  const id = input.id || newId("field");
  input.id = id;
  const fault = el("p", { class: "fault", id: `${id}-fault`, role: "alert" });
  const note = hint ? el("p", { class: "hint", id: `${id}-hint`, text: hint }) : null;
  input.setAttribute("aria-describedby", [note && note.id, fault.id].filter(Boolean).join(" "));
  const row = el("div", { class: "field-row" }, input, unit ? el("span", { class: "unit", text: unit }) : null);
  return { node: el("div", { class: "field" }, el("label", { for: id, text: label }), row, note, fault), fault };
}

/**
 * Says what went wrong at the place the maker is looking at, with the way out; no error clears it.
 * @param {Element} place
 * @param {any} error
 */
export function tell(place, error) {
  if (!error) return show(place);
  const message = String(error.message);
  const where = error.where && !message.includes(error.where) ? `${error.where}: ` : "";
  return show(place, el("span", { class: "mark", "aria-hidden": "true", text: "!" }), el("span", {},
    el("span", { class: "said", text: where ? where + message : message.charAt(0).toUpperCase() + message.slice(1) }),
    error.wayOut ? el("span", { class: "way-out", text: ` ${error.wayOut}` }) : null));
}

/**
 * Does something and says at a place what went wrong.
 * @template T
 * @param {Element} place
 * @param {() => Promise<T>} act
 * @returns {Promise<T | null>}
 */
export async function attempt(place, act) {
  tell(place, null);
  try {
    return await act();
  } catch (error) {
    tell(place, error);
    return null;
  }
}

/** Folded text under a line one can open. @param {string} line @param {...(Node | string | null | false)} children */
export function folded(line, ...children) {
  return el("details", { class: "folded" }, el("summary", { text: line }), ...children);
}
