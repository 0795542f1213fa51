/**
 * What could come loose, and the way it would take: the room of the way and the size of the thing drawn at one scale.
 */
// SPDX-License-Identifier: Apache-2.0
import { el, folded, svgEl } from "../dom.js";
import { lengthWords } from "../units.js";

const WIDE = 150;
const HIGH = 26;

/** A gap between two walls with the thing before it, both at one scale. @param {any} passage */
function drawn({ room, size, is_open: isOpen }) {
  const scale = (WIDE - 40) / Math.max(room, size, 1e-6);
  const gap = room * scale;
  const thing = size * scale;
  const from = (width) => (WIDE - width) / 2;
  const wall = (x, width) => svgEl("rect", { class: "way-wall", x, y: HIGH - 9, width: Math.max(width, 0), height: 7 });
  return svgEl("svg", { class: "way", viewBox: `0 0 ${WIDE} ${HIGH}`, width: WIDE, height: HIGH, "aria-hidden": "true",
    focusable: "false" },
    wall(0, from(gap)), wall(from(gap) + gap, from(gap)),
    svgEl("rect", { class: isOpen ? "way-thing free" : "way-thing", x: from(thing), y: 3, width: Math.max(thing, 2), height: 9,
      rx: 2 }));
}

/** @param {any} passage @param {boolean} isFirst the first way of this thing */
function row(passage, isFirst, count) {
  const into = passage.is_open && passage.ends === "clean side";
  const held = passage.is_open ? "comes through" : `is held${passage.by ? ` by ${passage.by}` : ""}`;
  return el("tr", { class: into ? "chosen" : "" }, isFirst ? el("th", { scope: "rowgroup", rowspan: String(count),
    text: passage.item.replaceAll("_", " ") }) : null,
    el("td", { text: passage.through }), el("td", {}, drawn(passage)),
    el("td", { class: "number", text: lengthWords(passage.room, 1) }), el("td", { class: "number", text: lengthWords(passage.size,
      1) }),
    el("td", {}, el("span", { class: `verdict ${into ? "attention" : "passes"}`, text: held }),
      passage.is_open ? el("span", { class: "soft", text: ` to the ${passage.ends}` }) : null));
}

/** @param {any[]} told */
export function passages(told) {
  if (!told.length) return null;
  const items = [...new Set(told.map((passage) => passage.item))];
  const groups = items.map((item) => told.filter((passage) => passage.item === item));
  const head = [["What", ""], ["Which way", ""], ["Room and thing, at one scale", ""], ["Room", "number"], ["Thing", "number"],
    ["So it", ""]];
  return folded(`What could come loose, and where it would get to (${told.length} ways)`, el("div", { class: "table-frame ways" },
    el("table", {},
    el("thead", {}, el("tr", {}, ...head.map(([text, kind]) => el("th", { scope: "col", class: kind, text })))),
    ...groups.map((group) => el("tbody", {}, ...group.map((passage, index) => row(passage, index === 0, group.length)))))));
}
