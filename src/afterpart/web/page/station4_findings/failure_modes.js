/**
 * The failure-mode table: what can fail, how, and what that costs, from 1 to 10 each; a number typed here is the maker's and
 * is written as a row of [[failure_mode]].  Judging again takes it up.
 */
// SPDX-License-Identifier: Apache-2.0
import { editAsItStands } from "../api.js";
import { attempt, el, folded, show } from "../dom.js";
import { rowTable } from "../row_table.js";

const FIGURES = [["severity", "Severity: 1 to 10, 10 worst"], ["occurrence", "How often: 1 never to 10 always"],
  ["detection", "How well seen: 1 at once to 10 never"]];

/** Writes one figure of a row. @param {any} row @param {string} figure @param {number} value */
function write({ item, mode }, figure, value) {
  return editAsItStands((job) => {
    const index = (job.failure_mode || []).findIndex((row) => row.item === item && row.mode === mode);
    return [index >= 0 ? { do: "change", table: "failure_mode", index, row: { [figure]: value } }
      : { do: "add", table: "failure_mode", row: { item, mode, [figure]: value } }];
  });
}

/** @param {any} row @param {string} figure @param {Element} fault @param {() => void} changed */
function figureCell(row, figure, fault, changed) {
  const input = /** @type {HTMLInputElement} */ (el("input", { type: "number", min: "1", max: "10", step: "1",
    value: String(row[figure]),
    "aria-label": `${figure} of ${row.item}: ${row.mode}` }));
  input.addEventListener("change", () => attempt(fault, async () => {
    const value = Number(input.value);
    if (!Number.isInteger(value) || value < 1 || value > 10) {
      throw new Error(`Found ${input.value || "nothing"}, expected a whole number from 1 to 10.`);
    }
    await write(row, figure, value);
    row[figure] = value;
    input.classList.add("typed");
    changed();
  }));
  return el("td", { class: "number" }, input);
}

/** @param {any[]} rows */
export function failureModes(rows) {
  if (!rows.length) return null;
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "hint", role: "status" });
  const head = [["What", ""], ["Fails by", ""], ["Effect", ""], ["Cause", ""], ["Held today by", ""], ["Severity", "number"],
    ["Often", "number"],
    ["Unseen", "number"], ["Product", "number"]];
  const body = el("tbody", {}, ...rows.map((row) => {
    const product = el("td", { class: "number", text: String(row.severity * row.occurrence * row.detection) });
    const changed = () => {
      product.textContent = String(row.severity * row.occurrence * row.detection);
      show(said, "Written into job.toml. Judge again to sort the table anew.");
    };
    return el("tr", {}, el("th", { scope: "row", text: row.item }), el("td", { text: row.mode }), el("td", { text: row.effect }),
      el("td", { text: row.cause }), el("td", { text: row.today }), ...FIGURES.map(([figure]) => figureCell(row, figure, fault,
        changed)), product);
  }));
  return folded(`Failure modes (${rows.length})`, el("p", { class: "hint",
    text: `${FIGURES.map(([, words]) => words).join(". ")}. Figures from memory: put in what you know.` }),
    el("div", { class: "table-frame modes" }, el("table", {}, el("thead", {}, el("tr", {}, ...head.map(([text, kind]) =>
      el("th", { scope: "col", class: kind, text })))), body)), said, fault,
    folded("Rows of your own", rowTable("failure_mode", { add: "One more way to fail" })));
}
