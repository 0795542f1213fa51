/**
 * One finding: verdict, what was judged and its value on one line; formula, figures, source and the change behind it.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, button, el, show } from "../dom.js";
import { lengthWords } from "../units.js";

const DIGITS = 4;

/** A number with four figures at most. @param {number} value */
export function numberWords(value) {
  if (value === null || value === undefined) return "";
  if (value !== 0 && (Math.abs(value) >= 1e6 || Math.abs(value) < 1e-4)) return value.toExponential(2);
  return String(Number(value.toPrecision(DIGITS)));
}

/** A value with its unit; lengths follow the sheet's unit. @param {number} value @param {string} unit */
export function valueWords(value, unit) {
  if (value === null || value === undefined) return "";
  if (unit === "mm") return lengthWords(value, 2);
  return unit ? `${numberWords(value)} ${unit}` : numberWords(value);
}

/** The limit in words. @param {any} finding */
function limitWords(finding) {
  const { limit, side, unit } = finding;
  if (limit === null || limit === undefined) return "";
  if (Array.isArray(limit)) return `from ${valueWords(limit[0], unit)} to ${valueWords(limit[1], unit)}`;
  return `${side === "min" ? "at least" : "at most"} ${valueWords(limit, unit)}`;
}

/** What was judged and of what. @param {any} finding */
function spoken(finding) {
  const check = finding.check.replaceAll("_", " ");
  return check[0].toUpperCase() + check.slice(1) + (finding.subject ? ` of ${finding.subject}` : "");
}

/** @param {any} finding @param {string} id */
export function findingRow(finding, id) {
  const value = valueWords(finding.value, finding.unit);
  const limit = limitWords(finding);
  return el("details", { class: "finding", id }, el("summary", {},
    el("span", { class: `verdict ${finding.verdict.replace(" ", "-")}`, text: finding.verdict }),
    el("span", { class: "finding-name", text: spoken(finding) }),
    el("span", { class: "finding-value", text: value && limit ? `${value}, ${limit}` : value })),
  el("div", { class: "finding-body" }, el("p", { text: finding.advice }), finding.from_memory ? el("p", { class: "hint",
    text: "It rests on figures from memory, so it gives attention at best." }) : null, changeNode(finding), figures(finding)));
}

/** What a finding suggests: a button for each way that a key of the job can go, words for the others. @param {any} finding */
export function changeNode(finding) {
  const ways = finding.suggestions.map((one, index) => ({ ...one, change: (finding.changes || [finding.change])[index] }));
  if (!ways.length && finding.change) ways.push({ why: "", change: finding.change });
  const pressed = ways.filter((way) => way.change);
  const told = ways.filter((way) => !way.change).map((one) => `${one.key} ${one.to}${one.why ? `: ${one.why}` : ""}`);
  const hint = told.length ? el("p", { class: "hint", text: `${pressed.length ? "Another way" : "Suggested"}: ${
    told.join("; ")}.` }) : null;
  if (!pressed.length) return hint;
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "word written", role: "status" });
  return el("div", { class: "change" }, pressed.length > 1 ? el("p", { class: "hint", text: "One of these is enough:" }) : null,
    ...pressed.map((way) => wayNode(way, way === ways[0], said, fault)), hint, said, fault);
}

/**
 * One way: its button and why.  The first was tried when it was judged, every other one is before it is written.
 * @param {any} way @param {boolean} isTried @param {Element} said @param {Element} fault
 */
function wayNode({ change, why }, isTried, said, fault) {
  const press = button(change.text, () => attempt(fault, async () => {
    show(said, isTried ? "" : "Trying it \u2026");
    await edit(change.edits, { tried: !isTried }).catch((error) => { show(said); throw error; });
    const written = change.text.replace(/^Set /, "");
    show(said, `Written into job.toml: ${written}. Judge again to see what it does; Undo takes it back.`);
  }), { class: "button small" });
  return el("p", { class: "way-out-row" }, press, why ? el("span", { class: "soft", text: ` ${why}` }) : null);
}

/** Formula, figures that went in, source. @param {any} finding */
function figures(finding) {
  const inputs = Object.entries(finding.inputs);
  const leans = finding.sensitivity.map((one) => `${one.input} by 1 %: ${one.value_per_percent >= 0 ? "+" : ""}${
    numberWords(one.value_per_percent)} ${finding.unit}`);
  const facts = [["Formula", finding.formula], ["Margin", finding.margin === null ? ""
    : `${(100 * finding.margin).toFixed(0)} % of the limit`],
    ["Uncertainty", finding.u ? `standard ${valueWords(finding.u, finding.unit)}` : ""],
    ["Leans on", leans.join("; ") || finding.insensitive],
    ["Source", finding.source], ["Not known", finding.missing.join(", ")]].filter(([, text]) => text);
  return el("div", { class: "finding-figures" }, inputs.length ? el("div", { class: "table-frame" }, el("table", {},
    el("thead", {}, el("tr", {}, el("th", { scope: "col", text: "Went in" }), el("th", { scope: "col", class: "number",
      text: "Value" }),
      el("th", { scope: "col", text: "From" }))), el("tbody", {}, ...inputs.map(([name, given]) => el("tr", {},
      el("th", { scope: "row", text: name }), el("td", { class: "number", text: valueWords(given.value, given.unit)
        + (given.u ? ` ± ${numberWords(2 * given.u)}` : "") }), el("td", { class: "soft", text: given.source })))))) : null,
  el("dl", { class: "facts" }, ...facts.flatMap(([name, text]) => [el("dt", { text: name }), el("dd", { text })])));
}
