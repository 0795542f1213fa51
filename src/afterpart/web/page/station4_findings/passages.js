/**
 * What could come loose, and the way it would take: the room of the way and the size of the thing drawn at one scale, and for
 * each thing the picture that the checks drew: cut through the pieces, with what stops it.  Pictures are fetched when they are
 * looked at.
 */
// SPDX-License-Identifier: Apache-2.0
import { getBlobUrl } from "../api.js";
import { attempt, el, folded, show, svgEl } from "../dom.js";
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
  const held = passage.is_open ? "comes through" : `is held${passage.by ? ` by ${passage.by.replaceAll("_", " ")}` : ""}`;
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
  const fold = folded(`What could come loose, and where it would get to (${told.length} ways)`, pictures(groups),
    el("div", { class: "table-frame ways" }, el("table", {},
      el("thead", {}, el("tr", {}, ...head.map(([text, kind]) => el("th", { scope: "col", class: kind, text })))),
      ...groups.map((group) => el("tbody", {}, ...group.map((passage, index) => row(passage, index === 0, group.length)))))));
  return fold;
}

/** The pictures, one for each thing that has one; the first is shown, the others by their names. @param {any[][]} groups */
function pictures(groups) {
  const drawnOnes = groups.filter((group) => group[0].picture);
  if (!drawnOnes.length) return null;
  const names = new Map(drawnOnes.map((group) => [group[0].picture, group]));
  const fault = el("p", { class: "fault", role: "alert" });
  const frame = el("div", { class: "way-picture" });
  const choose = el("div", { class: "row", role: "group", "aria-label": "Picture of" });
  const look = (picture) => attempt(fault, async () => {
    for (const one of choose.children) one.setAttribute("aria-pressed", String(one.getAttribute("data-picture") === picture));
    const group = names.get(picture);
    const image = el("img", { src: await getBlobUrl(`/api/file/job/${encodeURIComponent(picture)}`),
      alt: group.map((one) => one.text).join(" ") });
    show(frame, image);
  });
  choose.append(...[...names.entries()].map(([picture, group]) => el("button", { type: "button", class: "button quiet small",
    "data-picture": picture, "aria-pressed": "false", text: group[0].item.replaceAll("_", " "),
    on: { click: () => look(picture) } })));
  const box = el("figure", { class: "way-figure" }, choose, fault, frame);
  const watch = new IntersectionObserver((seen) => {
    if (!seen.some((one) => one.isIntersecting)) return;
    watch.disconnect();
    look([...names.keys()][0]);
  });
  watch.observe(box);
  return box;
}
