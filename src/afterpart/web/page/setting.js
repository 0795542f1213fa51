/**
 * A table of the job as a fold: its name and what it says on one line, the form below, asked for or left out by a button.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "./api.js";
import { attempt, button, el } from "./dom.js";
import { capital, keyWords, tableFields, tableOf, valueWords } from "./fields.js";
import { rowTable } from "./row_table.js";
import { read, subscribe } from "./state.js";

/** Names of tables of rows, several of them. */
const SEVERAL = { role: "Roles", change: "Changes", hole: "Holes", boss: "Bosses" };
const SAID_CLOSED = 4;

/**
 * A folded form of a table that stands once; always: the program has it even where the job leaves it out.
 * @param {string} name @param {string[]} first @param {boolean} always
 */
export function tableSetting(name, first, always = false) {
  const table = tableOf(name);
  if (!table) return null;
  const fault = el("p", { class: "fault", role: "alert" });
  const { node, refresh } = tableFields(name, first);
  const add = button(`Ask for it: ${name}`, () => attempt(fault, () => edit([{ do: "table", at: name, row: {} }])),
    { class: "button quiet small" });
  const away = button("Leave it out", () => attempt(fault, () => edit([{ do: "untable", at: name }])),
    { class: "button quiet small" });
  const state = el("span", { class: "soft" });
  const fold = el("details", { class: "folded setting" }, el("summary", {}, el("span", { text: capital(name) }), state));
  fold.append(el("p", { class: "hint", text: table.title }), node, el("div", { class: "row" }, add, away), fault);
  subscribe(["job", "unit"], () => {
    const job = read("job");
    const row = job ? job[name] : undefined;
    const asked = Boolean(row) || always;
    refresh(row);
    node.toggleAttribute("hidden", !asked);
    add.hidden = asked || !job;
    away.hidden = !row;
    state.textContent = row ? ` ${summary(table, row)}` : always ? " as the program has it" : " not asked for";
  });
  return fold;
}

/** The first few values of a table, for the closed fold. @param {import("./fields.js").Table} table @param {any} row */
function summary(table, row) {
  return table.keys.filter((key) => row[key.key] !== undefined).slice(0, SAID_CLOSED)
    .map((key) => `${keyWords(key.key)} ${valueWords(key, row[key.key])}`).join(", ");
}

/** A folded form of a table of rows. @param {string} name */
export function rowsSetting(name) {
  const table = tableOf(name);
  if (!table) return null;
  const state = el("span", { class: "soft" });
  subscribe(["job"], () => {
    const count = ((read("job") || {})[name] || []).length;
    state.textContent = count ? ` ${count} ${count === 1 ? "row" : "rows"}` : " none";
  });
  return el("details", { class: "folded setting" }, el("summary", {}, el("span", { text: SEVERAL[name] || capital(name) }),
    state),
    el("p", { class: "hint", text: table.title }), rowTable(name));
}
