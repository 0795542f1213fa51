/**
 * What the maker tells about a photograph: the few things most need first, the rest folded.  Each change goes into the job at
 * once; the picture is measured again when asked.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, el, folded, labelled, newId, show } from "../dom.js";
import { jobRows, read, subscribe } from "../state.js";
import { shortLength, typedLength, typedNumber, unitName } from "../units.js";

const FIRST = ["sheet", "rule", "face_height", "reference_height"];
const LEFT_OUT = ["file", "span", "shows", "face"];
const LABELS = { sheet: "Sheet under the part", rule: "Rule beside the part", face_height: "Height of the traced face",
  reference_height: "Height of the reference",
  calliper: "Open calliper in the picture", target: "Bar of the printed target", scan: "Flatbed scan",
    focal_35mm: "Focal length", edge_radius: "Rounding of the edge",
  channel_depth: "Depth of the channel", part: "Which part to keep", shows: "What it shows", face: "Face that looks up" };
const OFFERED = { sheet: ["A4", "letter", "A3", "A5", "legal"], rule: ["mm", "inch:16", "inch:32", "inch:64"] };
const PLAIN = { scan: "dots per inch", focal_35mm: "mm on 35 mm film", part: "1 is the largest" };
const NOT_SAID = "not said";

/** @param {any} key of the schema */
const isLength = (key) => key.type === "number" && !PLAIN[key.key];

/** A text field, or a list where the schema gives choices. @param {any} key */
function inputOf(key) {
  if (key.choices) return el("select", {}, el("option", { value: "", text: `${NOT_SAID} (${key.default ?? "open"})` }),
    ...key.choices.map((each) => el("option", { value: each, text: each })));
  const isNumber = key.type === "number" || key.type === "integer";
  const input = el("input", { type: "text", autocomplete: "off", class: "typed", inputmode: isNumber ? "decimal" : null,
    placeholder: isNumber ? null : NOT_SAID });
  if (OFFERED[key.key]) {
    const id = newId("offered");
    input.setAttribute("list", id);
    return [input, el("datalist", { id }, ...OFFERED[key.key].map((each) => el("option", { value: each })))];
  }
  return input;
}

/** @param {any} key @param {string} text @returns {any} the value for the job, null to take the key out */
function typedValue(key, text) {
  const said = text.trim();
  if (!said) return null;
  if (key.type !== "number" && key.type !== "integer") return said;
  const value = isLength(key) ? typedLength(said) : typedNumber(said);
  if (value === null) throw Object.assign(new Error(`Found \u201C${said}\u201D, expected a number.`),
    { wayOut: "Type it like 9.0." });
  return value;
}

/** @param {any} key @param {() => number} index of the photograph's row */
function toldField(key, index) {
  const made = inputOf(key);
  const [input, offered] = Array.isArray(made) ? made : [made, null];
  const { node, fault } = labelled({ label: LABELS[key.key] || key.key, input, hint: key.meaning });
  const unit = el("span", { class: "unit" });
  node.querySelector(".field-row").append(unit);
  if (offered) node.append(offered);
  let kept = "";
  input.addEventListener("change", async () => {
    if (input.value === kept) return;
    const done = await attempt(fault, async () => {
      await edit([{ do: "change", table: "photo", index: index(), row: { [key.key]: typedValue(key, input.value) } }]);
      return true;
    });
    input.setAttribute("aria-invalid", String(!done));
    if (done) kept = input.value;
  });
  return { key: key.key, node,
    /** @param {any} row of the job */
    update(row) {
      unit.textContent = isLength(key) ? unitName() : PLAIN[key.key] || "";
      const value = row[key.key];
      const text = value === undefined || value === null ? "" : isLength(key) ? shortLength(value) : String(value);
      if (document.activeElement === input && input.value !== kept) { kept = text; return; }
      if (input.getAttribute("aria-invalid") === "true" && text === kept) return;
      kept = text;
      input.value = text;
    } };
}

/** @returns {HTMLElement} the form of the photograph that is shown */
export function toldForm() {
  const index = () => (read("photoNumber") || 1) - 1;
  const first = el("div", { class: "fields" });
  const rest = el("div", { class: "fields" });
  /** @type {ReturnType<typeof toldField>[]} */
  let fields = [];
  const node = /** @type {HTMLElement} */ (el("section", { class: "box told", "aria-label": "What lies in the picture" },
    el("h3", { text: "What lies in the picture" }), first,
    folded("More about this photograph", rest)));
  subscribe(["schema"], () => {
    const table = (read("schema") || []).find((each) => each.table === "photo");
    if (!table) return;
    fields = table.keys.filter((key) => !LEFT_OUT.includes(key.key) && ["number", "integer", "text", "choice"].includes(
      key.type)).map((key) => toldField(key, index));
    const isFirst = (field) => FIRST.includes(field.key);
    fields.sort((a, b) => FIRST.indexOf(a.key) - FIRST.indexOf(b.key));
    show(first, ...fields.filter(isFirst).map((field) => field.node));
    show(rest, ...fields.filter((field) => !isFirst(field)).map((field) => field.node));
  });
  subscribe(["job", "photoNumber", "unit", "schema"], () => {
    const row = jobRows("photo")[index()];
    node.hidden = !row;
    if (row) for (const field of fields) field.update(row);
  });
  return node;
}
