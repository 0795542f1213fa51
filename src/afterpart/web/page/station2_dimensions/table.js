/**
 * The inspection table: number, what, measured, design value, state, and two fields to type into.
 *
 * Enter in a field writes the reading or the design value into the job and solves again; an emptied field takes it out.  What
 * moved is said in the row, what went wrong under it.  Rows are kept and filled anew, so that the place of the hand is not lost.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, button, el, show } from "../dom.js";
import { jobRows, read, write } from "../state.js";
import { shortLength, typedLength, typedNumber } from "../units.js";
import { STATE_MARKS, mateWords, measuredWords, movedWords, sureWords, typedReading, uncertaintyWords, unitOfTable, valueWords,
  whatWords } from "./row_words.js";

const COLUMNS = 7;
const USUAL_U = 0.02;
const WITH_U = ", with \u00B1 and its standard uncertainty if you know it";

/**
 * The edit that writes a row about a dimension into a table, changes it, or takes it out.
 * @param {string} table
 * @param {string} id
 * @param {object | null} row
 */
export function rowEdit(table, id, row) {
  const index = jobRows(table).findIndex((each) => each.id === id);
  if (row === null) return index < 0 ? null : { do: "drop", table, index };
  return index < 0 ? { do: "add", table, row: { id, ...row } } : { do: "change", table, index, row };
}

/** @param {any} row @returns {(text: string) => number | null} */
const reader = (row) => (row.kind === "angle" ? typedNumber : typedLength);

/**
 * @param {any} row
 * @param {string} text
 * @param {boolean} isReading
 * @returns {object} the edit; raises what the maker should read
 */
function typedEdit(row, text, isReading) {
  const table = isReading ? "reading" : "fixed";
  if (!text.trim()) return rowEdit(table, row.id, null);
  const said = typedReading(text, reader(row));
  if (!said || (!isReading && said.u !== null)) {
    const example = valueWords(row, row.design).replace("\u00B0", "");
    throw Object.assign(new Error(
      `Found \u201C${text}\u201D, expected a number${isReading ? WITH_U : ""}.`),
      { wayOut: `Type it like ${example}.` });
  }
  return rowEdit(table, row.id, said.u === null ? { value: said.value } : { value: said.value, u: said.u });
}

/** One row with its fields; update() fills it. @param {string} id */
function tableRow(id) {
  let row = /** @type {any} */ (null);
  const fault = el("p", { class: "fault", role: "alert" });
  const under = el("tr", { class: "under" }, el("td", { colspan: String(COLUMNS) }, fault));
  const causes = el("div", { class: "causes" });
  const causesRow = el("tr", { class: "under causes-row" }, el("td", { colspan: String(COLUMNS) }, causes));
  under.hidden = true;
  causesRow.hidden = true;

  const field = (isReading) => {
    const input = /** @type {HTMLInputElement} */ (el("input", { type: "text", inputmode: "decimal", autocomplete: "off",
      class: "typed", spellcheck: "false", "data-kind": isReading ? "reading" : "fixed" }));
    const commit = async () => {
      if (input.value === input.dataset.kept || input.hasAttribute("aria-busy")) return;
      const text = input.value;
      input.setAttribute("aria-busy", "true");
      const done = await attempt(fault, async () => {
        const change = typedEdit(row, text, isReading);
        if (change) await edit([change]);
        return true;
      });
      input.removeAttribute("aria-busy");
      input.setAttribute("aria-invalid", String(!done));
      under.hidden = Boolean(done);
      if (done) fillField(input, row, isReading, true);
    };
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") void commit();
      if (event.key !== "Escape") return;
      input.value = input.dataset.kept || "";
      under.hidden = true;
      input.removeAttribute("aria-invalid");
    });
    input.addEventListener("change", () => void commit());
    input.addEventListener("focus", () => write({ selected: id }));
    return input;
  };
  const reading = field(true);
  const fixed = field(false);
  const cells = ["number", "what", "measured", "design", "state"].map((name) => el(name === "number" ? "th" : "td",
    { class: `c-${name}`, scope: name === "number" ? "row" : null }));
  const choose = button("", () => write({ selected: read("selected") === id ? null : id }), { class: "balloon-button" });
  const why = button("why?", () => {
    causesRow.hidden = !causesRow.hidden;
    why.setAttribute("aria-expanded", String(!causesRow.hidden));
  }, { class: "link-button", "aria-expanded": "false" });
  const moved = el("span", { class: "moved" });
  show(cells[0], choose);
  const node = el("tr", { "data-id": id }, ...cells, el("td", { class: "c-field" }, reading), el("td", { class: "c-field" },
    fixed));

  return {
    nodes: [node, under, causesRow], node,
    /** @param {any} now @param {Map<string, any>} segments @param {any} move */
    update(now, segments, move) {
      row = now;
      const what = whatWords(row, segments);
      choose.textContent = String(row.number);
      choose.setAttribute("aria-label", `Number ${row.number}, ${what}: show where it is`);
      show(cells[1], what);
      show(cells[2], el("span", { class: "value", text: measuredWords(row) }),
        el("span", { class: "u", text: ` ${uncertaintyWords(row)} ` }), why);
      why.setAttribute("aria-label", `why? Causes of uncertainty of number ${row.number}`);
      moved.textContent = move ? movedWords(move, row) : "";
      show(cells[3], el("span", { class: "value strong", text: row.state === "free" ? `(${valueWords(row, row.design)})`
        : valueWords(row, row.design) }),
        el("span", { class: "sure", text: ` ${sureWords(row)}` }), move ? moved : null);
      show(cells[4], el("span", { class: "state-mark", "aria-hidden": "true", text: STATE_MARKS[row.state] || "" }), row.state);
      node.classList.toggle("free", row.state === "free");
      node.classList.toggle("has-moved", Boolean(move));
      reading.setAttribute("aria-label", `Reading of number ${row.number}, ${what}`);
      fixed.setAttribute("aria-label", `Design value of number ${row.number}, ${what}`);
      fillField(reading, row, true);
      fillField(fixed, row, false);
      show(causes, el("p", { class: "soft",
        text: `What makes number ${row.number} uncertain, largest first (u${row.kind === "angle" ? "" : " in mm"}):` }),
        el("ul", {}, ...row.causes.map((cause) => el("li", { text: cause }))),
        row.mate ? el("p", { class: "soft", text: mateWords(row) }) : null);
    },
    /** @param {boolean} chosen */
    mark(chosen) { node.classList.toggle("chosen", chosen); choose.setAttribute("aria-pressed", String(chosen)); },
  };
}

/**
 * Shows what the job holds; what is being typed, or was refused, stays.
 * @param {HTMLInputElement} input
 * @param {any} row
 * @param {boolean} isReading
 * @param {boolean} always
 */
function fillField(input, row, isReading, always = false) {
  const value = isReading ? row.reading && row.reading.value : row.fixed;
  let text = value === null || value === undefined ? "" : valueWords(row, value).replace("\u00B0", "");
  if (isReading && row.reading && Math.abs(row.reading.u - USUAL_U) > 1e-9) text += ` \u00B1${shortLength(row.reading.u)}`;
  const isTouched = input.dataset.kept !== undefined && input.value !== input.dataset.kept;
  const isHeld = isTouched && (document.activeElement === input || input.getAttribute("aria-invalid") === "true");
  input.dataset.kept = text;
  if (always || !isHeld) input.value = text;
}

/** The table; update() after each solve. */
export function inspectionTable() {
  const body = el("tbody");
  const unit = el("span", { class: "unit" });
  const heads = [["No.", ""], ["What", ""], ["Measured \u00B1 U (95 %)", "unit"], ["Design value, and how sure", ""],
    ["State", ""],
    ["Your reading", ""], ["Set the design value", ""]];
  const head = el("tr", {}, ...heads.map(([text, more]) => el("th", { scope: "col" }, text, more ? el("span", {}, " ", unit)
    : null)));
  const table = el("table", { class: "inspection" }, el("caption", { class: "hidden-words",
    text: "Inspection table of the part's dimensions" }),
    el("thead", {}, head), body);
  /** @type {Map<string, ReturnType<typeof tableRow>>} */
  const rows = new Map();
  return {
    node: el("div", { class: "table-frame tall", tabindex: "0", role: "region", "aria-label": "Inspection table" }, table),
    /** @param {any} outline */
    update(outline) {
      unit.textContent = unitOfTable();
      const segments = new Map(outline.paths.map((path) => [path.segment, path]));
      const moves = new Map((outline.moved || []).map((move) => [move.id, move]));
      for (const id of [...rows.keys()]) {
        if (!outline.rows.some((row) => row.id === id)) rows.delete(id);
      }
      const nodes = outline.rows.flatMap((row) => {
        if (!rows.has(row.id)) rows.set(row.id, tableRow(row.id));
        rows.get(row.id).update(row, segments, moves.get(row.id));
        return rows.get(row.id).nodes;
      });
      if (nodes.length !== body.children.length || nodes.some((node, index) =>
        body.children[index] !== node)) body.replaceChildren(...nodes);
    },
    /** @param {string | null} id @param {boolean} scroll whether to bring the row into sight */
    choose(id, scroll) {
      for (const [each, row] of rows) row.mark(each === id);
      if (id && scroll && rows.has(id)) rows.get(id).node.scrollIntoView({ block: "nearest" });
    },
  };
}
