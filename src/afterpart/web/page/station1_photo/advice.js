/**
 * Advice before shooting: for a part of this size and height, how far away, with which lens, and the error to expect (computed
 * by the program), with what holds for every photograph.
 */
// SPDX-License-Identifier: Apache-2.0
import { download, get } from "../api.js";
import { attempt, button, el, folded, labelled, show } from "../dom.js";
import { read, subscribe } from "../state.js";
import { lengthWords, shortLength, typedLength, typedNumber, unitName } from "../units.js";

const ALWAYS = [
  "Lay the rule on a block as high as the traced face, or say how high it lies.",
  "Use the longest lens of the phone and step back until the picture is sharp by itself.",
  "Hold the phone level above the part; part and reference fill most of the picture.",
  "Flash off, soft light from all sides, no shadow on the edge you want.",
  "A plain ground that differs from the part: light under dark, dark under light.",
  "A thin flat part may go on a flatbed scanner instead; check one length by calliper.",
];
const FIELDS = [["width", "Part is wide", "150"], ["height", "Part is high (in the picture)", "100"], ["face_height",
  "Its face lies above the table", "9"], ["lens_35mm", "Lens, if you know it", ""]];

/** @returns {HTMLElement} */
export function shootingAdvice() {
  const fault = el("p", { class: "fault", role: "alert" });
  const answer = el("div", { class: "advice-answer", "aria-live": "polite" });
  const units = [];
  const inputs = FIELDS.map(([name, label, usual]) => {
    const input = /** @type {HTMLInputElement} */ (el("input", { type: "text", inputmode: "decimal", class: "typed", name }));
    const { node } = labelled({ label, input });
    const unit = el("span", { class: "unit", text: name === "lens_35mm" ? "mm on 35 mm film" : "" });
    if (name !== "lens_35mm") units.push(unit);
    node.querySelector(".field-row").append(unit);
    return { name, input, node, usual };
  });
  const ask = () => attempt(fault, async () => {
    const query = new URLSearchParams();
    for (const { name, input } of inputs) {
      const text = input.value || input.placeholder;
      if (!text) continue;
      const value = name === "lens_35mm" ? typedNumber(text) : typedLength(text);
      if (value === null) throw Object.assign(new Error(`Found \u201C${text}\u201D, expected a number.`),
        { wayOut: "Type it like 150." });
      query.set(name, String(value));
    }
    show(answer, ...adviceLines(await get(`/api/advice?${query}`)));
  });
  subscribe(["unit"], () => {
    for (const unit of units) unit.textContent = unitName();
    for (const { input, usual } of inputs) input.placeholder = usual ? shortLength(Number(usual)) : "";
  });
  const target = button("Print a reference sheet (PDF)", () => attempt(fault, () => download("/api/target", "target.pdf")),
    { class: "button quiet" });
  const box = /** @type {HTMLDetailsElement} */ (folded("Before you shoot: lens, distance and the error to expect",
    el("div", { class: "columns" }, el("div", {}, el("div", { class: "fields" }, ...inputs.map((each) => each.node)),
      el("div", { class: "row" }, button("Work it out", ask, { class: "button quiet" }), target), fault, answer),
    el("ul", { class: "always" }, ...ALWAYS.map((text) => el("li", { text }))))));
  box.classList.add("box", "advice");
  let settled = false;
  subscribe(["sheet"], () => {
    const sheet = read("sheet");
    if (!sheet || settled) return;
    settled = true;
    box.open = !sheet.has_job;
  });
  return box;
}

/** What the program advises, in words and as a table of lenses. @param {any} said @returns {Node[]} */
function adviceLines(said) {
  const rows = said.lenses.map((lens) => el("tr", {}, el("th", { scope: "row", text: lens.name }),
    ...[lens.distance, lens.u95, lens.u95_on_table, lens.u95_untold].map((value, index) => el("td", { class: "number",
      text: index ? `\u00B1 ${shortLength(Number(value.toPrecision(2)))}` : shortLength(Math.round(value)) }))));
  const heads = ["Lens", "Lens to face", "reference raised", "reference on the table", "height not told"];
  return [el("ul", {}, ...said.words.map((text) => el("li", { text }))),
    el("div", { class: "table-frame" }, el("table", {}, el("caption", {
      text: `Error to expect of ${lengthWords(said.length, 0)} (95 %), and the distance, ${unitName()}` }),
    el("thead", {}, el("tr", {}, ...heads.map((text) => el("th", { scope: "col", text })))), el("tbody", {}, ...rows)))];
}
