/**
 * The heights card: a section through the part, a sketch not to scale, with one blank for every level a photograph cannot tell.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, el, labelled, show, svgEl } from "../dom.js";
import { jobRows } from "../state.js";
import { shortLength, typedLength, unitName } from "../units.js";

/** Level -> where it is marked in the sketch: x, from y, to y (y down, sketch units), and what it is in words. */
const LEVELS = {
  face: { x: 36, from: 112, to: 76, words: "table to face" },
  "channel floor": { x: 156, from: 76, to: 92, words: "depth of the channel below the face" },
  lip: { x: 84, from: 76, to: 58, words: "lip above the face" },
  boss: { x: 330, from: 76, to: 46, words: "boss above the face" },
  "room above": { x: 118, from: 76, to: 18, words: "face to the nearest thing above" },
  "room below": { x: 118, from: 112, to: 146, words: "seat to the nearest thing below" },
};
const PART = "M52 112V58H68V76H140V92H172V76H196V112ZM216 112V76H284V46H316V76H352V112Z";

const HOW = "A photograph from above tells no heights. Take them with the calliper\u2019s depth rod; "
  + "leave blank what is not there.";

/** The edit that writes a level. @param {string} level @param {number | null} value */
function levelEdit(level, value) {
  const index = jobRows("height").findIndex((row) => row.level === level);
  if (value === null) return index < 0 ? null : { do: "drop", table: "height", index };
  return index < 0 ? { do: "add", table: "height", row: { level, value } } : { do: "change", table: "height", index,
    row: { value } };
}

/** @param {number} number @param {{x: number, from: number, to: number}} level */
function mark(number, { x, from, to }) {
  const middle = (from + to) / 2;
  return svgEl("g", { class: "level" }, svgEl("line", { x1: x, y1: from, x2: x, y2: to }),
    svgEl("path", { d: `M${x - 3} ${from}H${x + 3}M${x - 3} ${to}H${x + 3}` }), svgEl("circle", { cx: x, cy: middle, r: 7.5 }),
    svgEl("text", { x, y: middle + 3.6, "text-anchor": "middle", text: String(number) }));
}

function sketch() {
  const names = Object.keys(LEVELS);
  return svgEl("svg", { class: "section-sketch", viewBox: "0 0 400 164", role: "img",
    "aria-label": "Section through a part on its machine, with the numbered levels" },
    svgEl("path", { class: "machine", d: "M20 18H380M20 146H380" }), svgEl("path", { class: "table-line",
      d: "M20 112H52M196 112H216M352 112H380" }),
    svgEl("path", { class: "cut", d: PART }), ...names.map((name, index) => mark(index + 1, LEVELS[name])));
}

/** @returns {{node: Element, update: (heights: any[]) => void}} */
export function heightsCard() {
  const fields = el("div", { class: "fields" });
  const fault = el("p", { class: "fault", role: "alert" });
  const inputs = new Map(Object.keys(LEVELS).map((level) => [level, levelField(level)]));
  show(fields, ...[...inputs.values()].map((each) => each.node));
  return {
    node: el("section", { class: "box heights", "aria-label": "Heights card" }, el("h3", { text: "Heights card" }),
      el("p", { class: "soft",
        text: HOW }),
      el("div", { class: "heights-columns" }, sketch(), fields), fault),
    update(heights) {
      for (const [level, field] of inputs) field.update(heights.find((each) => each.level === level));
    },
  };
}

/** @param {string} level */
function levelField(level) {
  const number = Object.keys(LEVELS).indexOf(level) + 1;
  const input = /** @type {HTMLInputElement} */ (el("input", { type: "text", inputmode: "decimal", autocomplete: "off",
    class: "typed" }));
  const unit = el("span", { class: "unit" });
  const { node, fault } = labelled({ label: `${number}  ${level}`, input, hint: LEVELS[level].words });
  node.querySelector(".field-row").append(unit);
  input.addEventListener("change", () => attempt(fault, async () => {
    const value = input.value.trim() ? typedLength(input.value) : null;
    if (input.value.trim() && value === null) throw Object.assign(
      new Error(`Found \u201C${input.value}\u201D, expected a length.`), { wayOut: "Type it like 9.0." });
    const change = levelEdit(level, value);
    if (change) await edit([change]);
  }));
  return {
    node,
    /** @param {any} height */
    update(height) {
      unit.textContent = unitName();
      if (document.activeElement !== input) input.value = height && height.value !== null && height.value !== undefined
        ? shortLength(height.value) : "";
    },
  };
}
