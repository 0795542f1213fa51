/**
 * Variants of the job side by side: other job folders beside this one, chosen by name; a table of figures with the maker's
 * weights, and who wins under them.  Every score and winner comes from the pipeline; a weight that is changed is asked for anew.
 */
// SPDX-License-Identifier: Apache-2.0
import { post, work } from "../api.js";
import { attempt, button, el, newId, show } from "../dom.js";
import { isBusy, progressBox } from "../progress.js";
import { read, subscribe } from "../state.js";
import { weighedTable } from "./weighed_table.js";

export function comparing() {
  const fault = el("p", { class: "fault", role: "alert" });
  const list = el("fieldset", { class: "ticks" });
  const said = el("div", {});
  const press = /** @type {HTMLButtonElement} */ (button("Compare", () => attempt(fault, async () => {
    const folders = [...list.querySelectorAll("input")].filter((tick) => tick.checked).map((tick) => tick.value);
    if (!folders.length) throw new Error("Choose at least one other job to compare with.");
    show(said);
    await work("compare", { folders });
  }), { class: "button quiet" }));
  const box = el("details", { class: "folded", id: "comparing" }, el("summary",
    { text: "Compare with other jobs in the same folder" }), list,
  el("p", { class: "hint", text: "A copy of this job's folder beside it, with another name and other settings, is a variant." }),
  el("div", { class: "row" }, press), progressBox(["compare"]), fault, said);
  let before = "";
  let shown = "";
  subscribe(["sheet", "work"], () => {
    const names = (read("sheet") || {}).siblings || [];
    const now = read("work");
    press.disabled = isBusy() || !names.length;
    if (names.join("\n") !== before || !list.children.length) {
      before = names.join("\n");
      show(list, el("legend", { text: names.length ? "With" : "There is no other job beside this one." }), ...names.map(tick));
    }
    if (now && now.what === "compare" && now.state === "done" && now.result && now.id !== shown) {
      shown = now.id;
      showComparison(said, now.result.comparison);
    }
  });
  return box;
}

/** @param {string} name */
function tick(name) {
  const id = newId("sibling");
  return el("span", { class: "tick" }, el("input", { type: "checkbox", id, value: name }), el("label", { for: id, text: name }));
}

/** An answer that a later weight has overtaken is dropped. @param {Element} place @param {any} comparison */
function showComparison(place, comparison) {
  const fault = el("p", { class: "fault", role: "alert" });
  let asked = 0;
  const table = weighedTable(comparison, (weights) => attempt(fault, async () => {
    asked += 1;
    const mine = asked;
    const { comparison: now } = await post("/api/weighing", { comparison, weights });
    if (mine === asked) table.score(now);
  }));
  show(place, fault, table.node);
}
