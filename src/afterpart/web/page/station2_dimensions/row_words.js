/**
 * A row of the inspection table in words: what is measured, how sure its design value is, what state it is in.
 */
// SPDX-License-Identifier: Apache-2.0
import { read } from "../state.js";
import { shortLength, showLength } from "../units.js";

const KINDS = { diameter: "diameter of hole", radius: "radius", distance: "distance", length: "length of edge", width: "width",
  angle: "angle", gap: "gap between edges", over: "over the edges", depth: "depth", height: "height" };
const SURE = 0.95;
const LIKELY = 0.75;
const EVEN = 0.5;

export const STATE_MARKS = { free: "\u25CC", inferred: "\u25D1", "measured by hand": "\u25B2", "fixed by you": "\u25A0" };

/** @param {any} row @param {(mm: number) => string} length */
function inItsUnit(row, length) {
  return row.kind === "angle" ? (degrees) => `${Number(degrees.toFixed(2))}\u00B0` : length;
}

/** @param {any} row @param {Map<string, any>} segments id -> path row @returns {string} "diameter of hole c1", "radius s4" */
export function whatWords(row, segments) {
  const first = segments.get(row.of[0]);
  const kind = row.kind === "diameter" && first && first.role === "outer" ? "outside diameter" : KINDS[row.kind] || row.kind;
  return row.of.length > 1 ? `${kind} ${row.of.join(" \u2013 ")}` : `${kind} ${row.of.join("")}`;
}

/** @param {any} row @returns {string} 6.613 */
export function measuredWords(row) {
  return inItsUnit(row, (mm) => showLength(mm, 3))(row.measured);
}

/** @param {any} row @returns {string} what it may be off by, 95 % */
export function uncertaintyWords(row) {
  return `\u00B1 ${row.kind === "angle" ? row.u95.toFixed(2) : showLength(row.u95, row.u95 < 0.02 ? 3 : 2)}`;
}

/** @param {any} row @param {number} value @returns {string} 6.5 */
export function valueWords(row, value) {
  return inItsUnit(row, shortLength)(value);
}

/** How sure the design value is, in words. @param {any} row @returns {string} */
export function sureWords(row) {
  if (row.state === "fixed by you") return "your number";
  if (row.state === "free") return "no number settled; the measured value stands";
  const other = row.runner_up === null || row.runner_up === undefined ? "" : `, else ${valueWords(row, row.runner_up)}`;
  const share = `${Math.min(99.9, Math.floor(row.probability * 1000) / 10).toFixed(row.probability > 0.99 ? 1 : 0)} %`;
  if (row.probability >= SURE) return `almost surely (${share})${other}`;
  if (row.probability >= LIKELY) return `likely (${share})${other}`;
  if (row.probability >= EVEN) return `perhaps (${share})${other}`;
  return `a guess (${share})${other}`;
}

/** What the mate's picture says of this distance. @param {any} row @returns {string} */
export function mateWords(row) {
  const seen = `The mate\u2019s picture measures ${measuredWords(row.mate)} ${uncertaintyWords(row.mate)}`;
  if (row.mate.used) return `${seen}: the design value rests on both pictures.`;
  const share = Math.round(100 * row.mate.moved);
  return share > 50 ? `${seen}: one of its holes was moved on one of the two parts (${share} %), so it settles nothing here.`
    : `${seen}.`;
}

/** @param {any} moved {number, from, to} of a row that an edit changed @param {any} row @returns {string} */
export function movedWords(moved, row) {
  return `moved: ${valueWords(row, moved.from)} before, ${valueWords(row, moved.to)} now`;
}

/** @returns {string} the unit of the table's head */
export function unitOfTable() {
  return read("unit") === "inch" ? "inch" : "mm";
}

/**
 * A reading as typed: "6.52", "6.52 +-0.05" or with the sign; in the shown unit.
 * @param {string} text @param {(text: string) => number | null} number @returns {{value: number, u: number | null} | null}
 */
export function typedReading(text, number) {
  const [first, second, ...more] = text.split(/\+-|\+\/-|\u00B1/);
  const value = number(first);
  if (value === null || more.length) return null;
  if (second === undefined) return { value, u: null };
  const u = number(second);
  return u === null ? null : { value, u };
}
