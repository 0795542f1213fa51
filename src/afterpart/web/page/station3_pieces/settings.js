/**
 * What is wanted of the new part: a folded form for each table of the job that the pieces are made from.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, button, el, newId, show } from "../dom.js";
import { tableFields, tableOf } from "../fields.js";
import { rowTable } from "../row_table.js";
import { read, subscribe } from "../state.js";

/** Tables in the order of the work, each with the keys shown even where the job leaves them out. */
const TABLES = [["cover", ["thickness", "fit"]], ["bolts", ["thread", "head", "washer", "torque_n_m"]],
  ["seal", ["kind", "duty", "section", "material"]], ["lip", ["of", "height"]], ["inlet", ["opening", "bellmouth"]],
  ["filter", ["thickness", "pores_per_inch", "rim", "cuts"]], ["holder", ["kind"]],
  ["screws", ["outside", "core", "pitch", "length"]], ["coupon", ["hole", "count"]], ["printer", ["material", "bed", "nozzle", "layer"]],
  ["plate", ["thickness", "bed"]]];
const ALWAYS = ["printer", "plate"];
const ROWS = ["role", "change", "hole", "boss"];
const PIECES = ["cover", "gasket", "clamp_frame", "filter_element", "cutting_guide", "hole_coupon"];
const capital = (text) => text[0].toUpperCase() + text.slice(1).replaceAll("_", " ");

export function settings() {
  const box = el("div", { class: "settings" });
  let built = false;
  subscribe(["schema"], () => {
    if (built || !read("schema")) return;
    built = true;
    show(box, el("h3", { text: "What is wanted" }), pieceChoice(), el("div", { class: "setting-list" },
      ...TABLES.map(([name, first]) => oneTable(/** @type {string} */ (name), /** @type {string[]} */ (first))), ...ROWS.map(rows)));
  });
  return box;
}

/** Which pieces are made: ticks; none ticked leaves it to the tables below. */
function pieceChoice() {
  const fault = el("p", { class: "fault", role: "alert" });
  const boxes = PIECES.map((piece) => {
    const id = newId("make");
    const tick = /** @type {HTMLInputElement} */ (el("input", { type: "checkbox", id, value: piece }));
    tick.addEventListener("change", () => attempt(fault, () => {
      const chosen = boxes.filter(({ tick: one }) => one.checked).map(({ tick: one }) => one.value);
      return edit([chosen.length ? { do: "set", at: "make", value: chosen } : { do: "remove", at: "make" }]);
    }));
    return { tick, node: el("span", { class: "tick" }, tick, el("label", { for: id, text: capital(piece) })) };
  });
  subscribe(["job"], () => {
    const chosen = (read("job") || {}).make || [];
    for (const { tick } of boxes) tick.checked = chosen.includes(tick.value);
  });
  return el("fieldset", { class: "ticks" }, el("legend", { text: "Pieces to make" }), ...boxes.map(({ node }) => node),
    el("p", { class: "hint", text: "None ticked: what the tables below ask for." }), fault);
}

/** @param {string} name @param {string[]} first */
function oneTable(name, first) {
  const table = tableOf(name);
  if (!table) return null;
  const fault = el("p", { class: "fault", role: "alert" });
  const { node, refresh } = tableFields(name, first);
  const add = button(`Ask for it: ${name}`, () => attempt(fault, () => edit([{ do: "table", at: name, row: {} }])), { class: "button quiet small" });
  const away = button("Leave it out", () => attempt(fault, () => edit([{ do: "untable", at: name }])), { class: "button quiet small" });
  const state = el("span", { class: "soft" });
  const fold = el("details", { class: "folded setting" }, el("summary", {}, el("span", { text: capital(name) }), state));
  fold.append(el("p", { class: "hint", text: table.title }), node, el("div", { class: "row" }, add, away), fault);
  subscribe(["job", "unit"], () => {
    const job = read("job");
    const row = job ? job[name] : undefined;
    const asked = Boolean(row) || ALWAYS.includes(name);
    refresh(row);
    node.toggleAttribute("hidden", !asked);
    add.hidden = asked || !job;
    away.hidden = !row;
    state.textContent = row ? ` ${summary(row)}` : ALWAYS.includes(name) ? " as the program has it" : " not asked for";
  });
  return fold;
}

/** The first few values of a table, for the closed fold. @param {any} row */
function summary(row) {
  return Object.entries(row).filter(([, value]) => typeof value !== "object").slice(0, 4)
    .map(([key, value]) => (typeof value === "boolean" ? `${key.replaceAll("_", " ")} ${value ? "yes" : "no"}` : String(value))).join(", ");
}

/** @param {string} name a table of rows */
function rows(name) {
  const table = tableOf(name);
  if (!table) return null;
  const state = el("span", { class: "soft" });
  subscribe(["job"], () => {
    const count = ((read("job") || {})[name] || []).length;
    state.textContent = count ? ` ${count} ${count === 1 ? "row" : "rows"}` : " none";
  });
  return el("details", { class: "folded setting" }, el("summary", {}, el("span", { text: `${capital(name)}s` }), state),
    el("p", { class: "hint", text: table.title }), rowTable(name));
}
