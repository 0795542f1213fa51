/**
 * Forms made from the job's own schema: one field per key with its unit and limits, written into job.toml when it is left.
 *
 * Words: a table stands once in the job ([cover]); a table of rows stands once per row ([[trial]]).  An empty field is a key left
 * out: the program's own value then holds, and is shown as such.  Limits: texts are not judged here; the program does that.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "./api.js";
import { attempt, el, labelled, tell } from "./dom.js";
import { read } from "./state.js";
import { shortLength, typedLength, typedNumber, unitName } from "./units.js";

const UNIT_ENDING = /_(n_m|n|deg|c|m3_per_h|m_per_s|cm3|rpm|pa|kpa|c|per_inch|px)$/;

/**
 * @typedef {{key: string, meaning: string, type: string, unit: string, least: number | null, most: number | null,
 *   above: number | null, below: number | null, choices: string[] | null, default: any}} Key
 * @typedef {{table: string, repeats: boolean, title: string, keys: Key[]}} Table
 * @typedef {{node: Element, refresh: (value: any) => void}} Field
 */

/** A value in words, with its unit. @param {Key} key @param {any} value */
export function valueWords(key, value) {
  const unit = key.unit === "mm" ? unitName() : key.unit;
  return typeof value === "number" && unit ? `${shown(key, value)} ${unit}` : shown(key, value);
}

/** The schema of a table. @param {string} name @returns {Table | undefined} */
export function tableOf(name) {
  return (read("schema") || []).find((table) => table.table === name);
}

/** A key in plain words: torque_n_m is torque. @param {string} key */
export function keyWords(key) {
  return key.replace(UNIT_ENDING, "").replaceAll("_", " ");
}

/** With a capital letter, as a label stands. @param {string} text */
export function capital(text) {
  return text[0].toUpperCase() + text.slice(1).replaceAll("_", " ");
}

/** The limits of a key in words. @param {Key} key */
export function limitWords(key) {
  const length = key.unit === "mm";
  const said = (number) => (length ? shortLength(number) : String(number));
  const parts = [[key.least, "at least"], [key.above, "above"], [key.most, "at most"], [key.below, "below"]]
    .filter(([number]) => number !== null && number !== undefined).map(([number, word]) => `${word} ${said(number)}`);
  return parts.join(", ");
}

/** @param {Key} key @param {any} value as it is shown in a field */
function shown(key, value) {
  if (value === null || value === undefined) return "";
  if (Array.isArray(value)) return value.map((one) => shown(key, one)).join(key.type === "list" ? ", " : " x ");
  if (typeof value === "number") return key.unit === "mm" ? shortLength(value) : String(value);
  if (typeof value === "boolean") return value ? "yes" : "no";
  return String(value);
}

/** @param {Key} key */
function leftOut(key) {
  const value = shown(key, key.default);
  return value === "" ? "" : `left out: ${value}`;
}

/**
 * What was typed into a field, as it stands in the job; null: left out.
 * @param {Key} key @param {string} text @returns {any}
 */
function typed(key, text) {
  const plain = text.trim();
  if (plain === "") return null;
  const number = (part) => {
    const found = key.unit === "mm" ? typedLength(part) : typedNumber(part);
    if (found === null) throw Object.assign(new Error(`Found "${part.trim()}", expected a number.`), { wayOut: limitWords(key) });
    return found;
  };
  if (key.type === "number") return number(plain);
  if (key.type === "integer") return Math.round(number(plain));
  if (key.type === "flag") return plain === "yes";
  if (["pair", "point", "numbers"].includes(key.type)) return plain.split(/\s*[x;×]\s*|\s*,\s+|\s+/).map(number);
  if (key.type === "list") return plain.split(/\s*,\s*/).filter(Boolean);
  return plain;
}

/** @param {Key} key @returns {HTMLInputElement | HTMLSelectElement} */
function inputOf(key) {
  const choices = key.type === "flag" ? ["yes", "no"] : key.type === "list" ? null : key.choices;
  if (choices) {
    const none = el("option", { value: "", text: leftOut(key) || "left out" });
    return /** @type {any} */ (el("select", {}, none, ...choices.map((choice) => el("option", { value: choice, text: choice }))));
  }
  const isNumber = key.type === "number" || key.type === "integer";
  return /** @type {any} */ (el("input", { type: "text", inputmode: isNumber ? "decimal" : null, placeholder: leftOut(key),
    autocomplete: "off", spellcheck: "false" }));
}

/**
 * One field of a key.  write(value) puts it into the job (null: leaves it out) and may refuse.
 * @param {Key} key @param {(value: any) => Promise<any>} write @param {{label?: string, hint?: boolean}} more @returns {Field}
 */
export function field(key, write, more = {}) {
  const input = inputOf(key);
  const limits = limitWords(key);
  const hint = more.hint === false ? "" : key.meaning + (limits && !key.meaning.includes(limits) ? ` (${limits})` : "");
  const unit = key.unit === "mm" ? unitName() : key.unit || "";
  const { node, fault } = labelled({ label: more.label || capital(keyWords(key.key)), input, unit, hint });
  let last = "";
  let isSent = false;
  input.addEventListener("change", () => attempt(fault, async () => {
    input.setAttribute("aria-invalid", "false");
    if (input.value === last) return;
    try {
      isSent = true;
      await write(typed(key, input.value));
      last = input.value;
    } catch (error) {
      input.setAttribute("aria-invalid", "true");
      throw error;
    } finally {
      isSent = false;
    }
  }));
  const refresh = (value) => {
    const unitNode = node.querySelector(".unit");
    if (unitNode && key.unit === "mm") unitNode.textContent = unitName();
    if (input instanceof HTMLInputElement) input.placeholder = leftOut(key);
    const text = shown(key, value);
    if (input.getAttribute("aria-invalid") === "true" && document.activeElement === input) return;
    if (text !== last) tell(fault, null);
    // what is being typed here is not taken away by a job that is read meanwhile
    const isTyping = document.activeElement === input && input.value !== last && !isSent;
    last = text;
    if (!isTyping) input.value = text;
    input.setAttribute("aria-invalid", "false");
    input.classList.toggle("typed", text !== "");
  };
  return { node, refresh };
}

/**
 * The fields of a table that stands once: those the job says first, the others folded.
 * @param {string} name @param {string[]} first keys that are shown even where the job leaves them out
 */
export function tableFields(name, first = []) {
  const table = tableOf(name);
  const near = el("div", { class: "fields" });
  const far = el("div", { class: "fields" });
  const more = el("details", { class: "folded" }, el("summary", { text: "" }), far);
  /** @type {[Key, Field][]} */
  const fields = (table ? table.keys : []).map((key) => [key, field(key, (value) => edit([value === null
    ? { do: "remove", at: at(name, key.key) } : { do: "set", at: at(name, key.key), value }]))]);
  const refresh = (row) => {
    for (const [key, { node, refresh: fill }] of fields) {
      const value = row ? row[key.key] : undefined;
      fill(value);
      const home = value !== undefined || first.includes(key.key) ? near : far;
      if (node.parentElement !== home) home.append(node);
    }
    more.hidden = !far.children.length;
    more.querySelector("summary").textContent = `${far.children.length} more, left as the program has them`;
  };
  return { node: el("div", {}, near, more), refresh };
}

/** @param {string} table @param {string} key the place of a key in the job file; keys of the job itself have no table */
export function at(table, key) {
  return table ? `${table}.${key}` : key;
}

/**
 * The fields of one row of a table of rows, or of a row to be.
 * @param {string} name @param {any} row @param {(changes: Record<string, any>) => Promise<any>} write @param {string[]} keys
 */
export function rowFields(name, row, write, keys) {
  const table = tableOf(name);
  const found = (table ? table.keys : []).filter((key) => keys.includes(key.key));
  return el("div", { class: "fields" }, ...found.map((key) => {
    const made = field(key, (value) => write({ [key.key]: value }));
    made.refresh(row[key.key]);
    return made.node;
  }));
}
