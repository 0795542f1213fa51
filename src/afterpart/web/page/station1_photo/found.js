/**
 * What was found, on the photograph and in words: references, rims, the outline, where the camera stood.
 */
// SPDX-License-Identifier: Apache-2.0
import { el, show, svgEl } from "../dom.js";
import { polyline } from "../picture/segments.js";

const REFERENCES = { sheet: "sheet of paper", rule: "rule", target: "printed target", calliper: "open calliper",
  span: "two points", scan: "flatbed scan", readings: "hand readings" };

/** @param {Element} layer of the photograph @param {any} found */
export function drawFound(layer, found) {
  show(layer, ...found.references.map((reference) => svgEl("path", { class: `reference ${reference.kind}`,
    d: polyline(reference.polyline_px) })),
    ...found.rims.map((rim) => svgEl("path", { class: "rim", d: polyline(rim, true) })),
    ...found.segments.map((segment) => svgEl("path", { class: `found-outline${segment.free ? " free" : ""}`,
      d: polyline(segment.px) })));
}

/**
 * What gave the scale, and how good it is; references that hold it together are named together.
 * @param {{kind: string, text: string}[]} references @returns {string}
 */
function referenceWords(references) {
  /** @type {Map<string, string[]>} */
  const names = new Map();
  for (const { kind, text } of references) {
    if (kind === "none") return text;
    const said = text.startsWith(`${kind}: `) ? text.slice(kind.length + 2) : text;
    names.set(said, [...(names.get(said) || []), REFERENCES[kind] || kind]);
  }
  return [...names].map(([said, each]) => `${each.join(" and ")}: ${said}`).join("; ");
}

/** @param {any} info of GET /api/photo @returns {Node[]} */
export function foundWords(info) {
  const { found } = info;
  const terms = [["Picture", `${info.file}, ${info.width} \u00D7 ${info.height} pixels`], ["What the camera noted",
    [info.exif].flat().join("; ")],
    ["Reference", referenceWords(found.references) || "none found yet"],
    ["Camera", found.camera ? found.camera.text : ""],
    ["Left out", info.why || ""],
    ["Part", found.rims.length ? `${found.rims.length} closed rims` : ""]];
  return terms.filter(([, text]) => text).flatMap(([term, text]) => [el("dt", { text: term }), el("dd", { text })]);
}

/** The signs of the drawing on the photograph. */
export function legend() {
  const sign = (name) => svgEl("svg", { viewBox: "0 0 34 10", class: "sign", "aria-hidden": "true" },
    svgEl("path", { class: name, d: "M1 5H33" }));
  return el("p", { class: "row legend" }, ...[["reference", "reference"], ["rim", "rims as seen"], ["found-outline",
    "outline as designed"], ["found-outline free", "free"]]
    .map(([name, text]) => el("span", {}, sign(name), text)));
}
