/**
 * Variants of the job side by side: other job folders beside this one, chosen by name.
 */
// SPDX-License-Identifier: Apache-2.0
import { work } from "../api.js";
import { attempt, button, el, newId, show } from "../dom.js";
import { isBusy, progressBox } from "../progress.js";
import { read, subscribe } from "../state.js";

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
  const box = el("details", { class: "folded" }, el("summary", { text: "Compare with other jobs in the same folder" }), list,
    el("div", { class: "row" }, press), progressBox(["compare"]), fault, said);
  let before = "";
  subscribe(["sheet", "work"], () => {
    const names = (read("sheet") || {}).siblings || [];
    const now = read("work");
    press.disabled = isBusy() || !names.length;
    if (names.join("\n") !== before || !list.children.length) {
      before = names.join("\n");
      show(list, el("legend", { text: names.length ? "With" : "There is no other job beside this one." }),
        ...names.map((name) => {
        const id = newId("sibling");
        return el("span", { class: "tick" }, el("input", { type: "checkbox", id, value: name }), el("label", { for: id,
          text: name }));
      }));
    }
    if (now && now.what === "compare" && now.state === "done" && now.result) {
      show(said, el("pre", { class: "plain-text", tabindex: "0", "aria-label": "Comparison",
        text: now.result.lines.join("\n") }));
    }
  });
  return box;
}
