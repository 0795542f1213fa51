/**
 * A table of rows of the job ([[role]], [[trial]] ...) as a form: one line per row, one line for the next, each value written
 * when it is left.  A row to be is kept here until what it must have is given.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "./api.js";
import { attempt, button, el, show } from "./dom.js";
import { field, keyWords, tableOf } from "./fields.js";
import { read, subscribe } from "./state.js";

/**
 * @param {string} name @param {{keys?: string[], add?: string, start?: Record<string, any>}} more keys: shown ones, in order;
 * add: words of the button; start: what a new row begins with
 */
export function rowTable(name, more = {}) {
  const table = tableOf(name);
  const keys = (table ? table.keys : []).filter((key) => !more.keys || more.keys.includes(key.key));
  const body = el("tbody", {});
  const fault = el("p", { class: "fault", role: "alert" });
  const frame = el("div", { class: "table-frame row-table" }, el("table", {}, el("thead", {}, el("tr", {},
    ...keys.map((key) => el("th", { scope: "col", title: key.meaning, text: keyWords(key.key) + unitOf(key) })),
    el("th", { scope: "col" }, el("span", { class: "hidden-words", text: "Taking out" })))), body));
  let before = "";
  subscribe(["job", "unit"], () => {
    const rows = (read("job") || {})[name] || [];
    const now = JSON.stringify([rows, read("unit")]);
    if (now === before) return;
    before = now;
    const place = focusPlace(body);
    show(body, ...rows.map((row, index) => oneRow(name, keys, row, index, fault)));
    frame.hidden = !rows.length;
    focusAgain(body, place);
  });
  return el("div", {}, frame, fault, newRow(name, keys, more));
}

/** @param {import("./fields.js").Key} key */
const unitOf = (key) => (key.unit ? `, ${key.unit === "mm" && read("unit") === "inch" ? "in" : key.unit}` : "");

/**
 * @param {string} name @param {import("./fields.js").Key[]} keys @param {any} row @param {number} index @param {Element} fault
 */
function oneRow(name, keys, row, index, fault) {
  const cells = keys.map((key) => {
    const made = field(key, (value) => edit([{ do: "change", table: name, index, row: { [key.key]: value } }]),
      { label: `${keyWords(key.key)}, row ${index + 1}`, hint: false });
    made.refresh(row[key.key]);
    return el("td", {}, made.node);
  });
  const out = button("Take out", () => attempt(fault, () => edit([{ do: "drop", table: name, index }])),
    { class: "button quiet small", "aria-label": `Take out row ${index + 1}` });
  return el("tr", {}, ...cells, el("td", {}, out));
}

/** @param {string} name @param {import("./fields.js").Key[]} keys @param {{add?: string, start?: Record<string, any>}} more */
function newRow(name, keys, more) {
  /** @type {Record<string, any>} */
  let row = { ...(more.start || {}) };
  const fault = el("p", { class: "fault", role: "alert" });
  const fields = keys.map((key) => [key, field(key, async (value) => { row[key.key] = value; })]);
  const fill = () => { for (const [key, made] of fields) made.refresh(row[key.key]); };
  const add = button("Write this row", () => attempt(fault, async () => {
    const given = Object.fromEntries(Object.entries(row).filter(([, value]) => value !== null && value !== undefined));
    await edit([{ do: "add", table: name, row: given }]);
    row = { ...(more.start || {}) };
    fill();
    fold.open = false;
  }));
  const fold = /** @type {HTMLDetailsElement} */ (el("details", { class: "folded new-row" }, el("summary",
    { text: more.add || "One more" }),
    el("div", { class: "fields" }, ...fields.map(([, made]) => made.node)), el("div", { class: "row" }, add), fault));
  subscribe(["unit"], fill);
  return fold;
}

/** Where the typing is, so that it goes on there after the rows have been written anew. @param {Element} body */
function focusPlace(body) {
  return [...body.querySelectorAll("input, select, button")].indexOf(/** @type {any} */ (document.activeElement));
}

/** @param {Element} body @param {number} place */
function focusAgain(body, place) {
  const found = /** @type {HTMLElement | undefined} */ (place < 0 ? undefined
    : [...body.querySelectorAll("input, select, button")][place]);
  if (found) found.focus();
}
