/**
 * How lengths are shown and typed: mm, or inch by the switch.  The job, the program and everything kept stay in mm.
 */
// SPDX-License-Identifier: Apache-2.0
import { read, write } from "./state.js";

const MM_PER_INCH = 25.4;
const UNIT_NAME = "afterpart-unit";

/** Takes up the unit chosen last time on this machine. */
export function takeUnit() {
  write({ unit: window.localStorage.getItem(UNIT_NAME) === "inch" ? "inch" : "mm" });
}

/** @param {"mm" | "inch"} unit */
export function setUnit(unit) {
  window.localStorage.setItem(UNIT_NAME, unit);
  write({ unit });
}

/** @returns {string} "mm" or "in", as printed after a number */
export function unitName() {
  return read("unit") === "inch" ? "in" : "mm";
}

/** A length as a plain number in the shown unit. @param {number} mm @param {number} digits decimals of the mm value */
export function showLength(mm, digits = 2) {
  if (mm === null || mm === undefined) return "";
  return read("unit") === "inch" ? (mm / MM_PER_INCH).toFixed(digits + 2) : mm.toFixed(digits);
}

/** A length with its unit. @param {number} mm @param {number} digits */
export function lengthWords(mm, digits = 2) {
  return `${showLength(mm, digits)} ${unitName()}`;
}

/** A length as short as it can be said: 6.5, 14, 0.2362. @param {number} mm */
export function shortLength(mm) {
  if (mm === null || mm === undefined) return "";
  return String(Number(read("unit") === "inch" ? (mm / MM_PER_INCH).toFixed(4) : mm.toFixed(3)));
}

/**
 * What was typed, in mm.  A comma stands for a point; "in" or a double quote means inch, "mm" mm, whatever is shown.
 * @param {string} text @returns {number | null} null when it is no number
 */
export function typedLength(text) {
  const found = /^\s*([+-]?\d*[.,]?\d+|[+-]?\d+[.,])\s*(mm|in|inch|")?\s*$/i.exec(text);
  if (!found) return null;
  const number = Number(found[1].replace(",", "."));
  const unit = (found[2] || read("unit")).toLowerCase();
  return unit === "mm" ? number : Number((number * MM_PER_INCH).toFixed(6));
}

/** A plain number as typed, a comma for a point. @param {string} text @returns {number | null} */
export function typedNumber(text) {
  const found = /^\s*([+-]?\d*[.,]?\d+|[+-]?\d+[.,])\s*$/.exec(text);
  return found ? Number(found[1].replace(",", ".")) : null;
}
