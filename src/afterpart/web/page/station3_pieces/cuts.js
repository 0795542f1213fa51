/**
 * The table of filter cuts: what every further straight cut gains, with the shapes drawn in their seat at one scale.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, button, el, show, svgEl, tell } from "../dom.js";
import { read } from "../state.js";
import { unitName } from "../units.js";

const MM_PER_INCH = 25.4;

/** Numbers of an SVG path, to find how far it reaches. @param {string} path */
function reach(path) {
  const pairs = [...path.matchAll(/(-?\d+(?:\.\d+)?(?:e-?\d+)?)[ ,]+(-?\d+(?:\.\d+)?(?:e-?\d+)?)/gi)]
    .map((found) => [Number(found[1]), Number(found[2])]);
  const xs = pairs.map(([x]) => x);
  const ys = pairs.map(([, y]) => y);
  return { left: Math.min(...xs), top: Math.min(...ys), right: Math.max(...xs), bottom: Math.max(...ys) };
}

/** @param {any} cut @param {string} seat @param {{left: number, top: number, right: number, bottom: number}} frame */
function shape(cut, seat, frame) {
  const edge = 2;
  const size = [frame.right - frame.left + 2 * edge, frame.bottom - frame.top + 2 * edge];
  const box = [frame.left - edge, frame.top - edge, ...size].join(" ");
  return svgEl("svg", { class: "cut-shape", viewBox: box, "aria-hidden": "true", focusable: "false" },
    seat ? svgEl("path", { class: "cut-seat", d: seat }) : null, svgEl("path", { class: "cut-element", d: cut.path }));
}

/** @param {number} mm2 */
function areaWords(mm2) {
  return read("unit") === "inch" ? (mm2 / MM_PER_INCH ** 2).toFixed(3) : mm2.toFixed(0);
}

/** @param {any} told GET /api/pieces @returns {Element | null} nothing where there is no filter element */
export function cutTable(told) {
  if (!told.cuts || !told.cuts.length) return null;
  const fault = el("p", { class: "fault", role: "alert" });
  const all = told.cuts.map((cut) => cut.path).concat(told.seat_path || []).join(" ");
  const frame = reach(all);
  // the job says how many cuts; of two shapes with as many, the larger is made
  const best = new Map();
  for (const { cuts, area } of told.cuts) best.set(cuts, Math.max(area, best.get(cuts) || 0));
  const choose = (cuts) => attempt(fault, () => edit([{ do: "set", at: "filter.cuts", value: cuts }]));
  const rows = told.cuts.map((cut) => el("tr", { class: cut.chosen ? "chosen" : "" }, el("td", {}, shape(cut, told.seat_path,
    frame)),
    el("th", { scope: "row" }, `${cut.cuts}`, cut.form ? el("span", { class: "soft", text: ` ${cut.form}` }) : null),
    el("td", { class: "number", text: areaWords(cut.area) }), el("td", { class: "number",
      text: `+${(100 * cut.gain).toFixed(1)} %` }),
    el("td", { class: "number", text: `${(100 * cut.gap).toFixed(1)} %` }),
    el("td", { class: "number", text: cut.drop_ratio === null || cut.drop_ratio === undefined ? ""
      : `${(100 * cut.drop_ratio).toFixed(0)} %` }),
    el("td", {}, cut.chosen ? el("strong", { text: "as built" }) : cut.area < best.get(cut.cuts) ? null : button("Cut so",
      () => choose(cut.cuts), { class: "button quiet small",
      "aria-label": `Cut the element with ${cut.cuts} cuts${cut.form ? `, ${cut.form}` : ""}` }))));
  const head = ["", "Further cuts", `Area, ${unitName() === "in" ? "in²" : "mm²"}`, "Gained", "Seat left open", "Pressure drop",
    ""];
  return show(el("div", { class: "cuts" }), el("h3", { text: "The filter element: straight cuts beyond the rectangle's four" }),
    el("div", { class: "table-frame" }, el("table", {}, el("thead", {}, el("tr", {}, ...head.map((text, index) =>
      el("th", { scope: "col", class: index > 1 && index < 6 ? "number" : "" }, text || el("span", { class: "hidden-words",
        text: index ? "Choice" : "Shape" }))))), el("tbody", {}, ...rows))),
    el("p", { class: "hint",
      text: "All shapes at one scale, in the outline of their seat. Pressure drop: against the plain rectangle. "
        + "Where you choose a number of cuts, the larger of its shapes is made." }),
    tell(fault, null));
}
