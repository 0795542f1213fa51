/**
 * Station 1, photo: where it comes in, what was found in it, what is told about it, a known length, the datum, advice.
 */
// SPDX-License-Identifier: Apache-2.0
import { button, el, show, svgEl, tell } from "../dom.js";
import { photoViewer } from "../picture/viewer.js";
import { jobRows, read, subscribe } from "../state.js";
import { shootingAdvice } from "./advice.js";
import { damagedPlaces } from "./damage.js";
import { datumChoice } from "./datum.js";
import { dropArea } from "./drop.js";
import { drawFound, foundWords, legend } from "./found.js";
import { phoneWay } from "./phone_way.js";
import { photoButtons, photographs } from "./photographs.js";
import { sheetCorners } from "./sheet_corners.js";
import { toldForm } from "./told.js";
import { twoPoints } from "./two_points.js";

const UNKNOWN = "The sheet was not found, or nothing tells the size. Tell it by hand:";
const NOT_FOUND = ["sheet_missing", "size_unknown"];

/**
 * Where nothing of known size was found, the two ways to tell it by hand, at the photograph.
 * @param {() => void} corners @param {() => void} length
 */
function waysOut(corners, length) {
  const node = /** @type {HTMLElement} */ (el("div", { class: "note" },
    el("span", { class: "mark", "aria-hidden": "true", text: "!" }), el("div", {}, el("p", { class: "said", text: UNKNOWN }),
      el("div", { class: "row" }, button("Drag the sheet\u2019s corners", corners, { class: "button quiet small" }),
        button("Pick two points a known length apart", length, { class: "button quiet small" })))));
  subscribe(["outline", "job", "photoNumber"], () => {
    const outline = read("outline");
    const row = jobRows("photo")[(read("photoNumber") || 1) - 1] || {};
    node.hidden = !outline || Boolean(row.span || row.sheet_corners_px) || row.shows === "mate"
      || !outline.notes.some((note) => NOT_FOUND.includes(note.code));
  });
  return node;
}

/** @param {HTMLElement} body */
export function mount(body) {
  const view = photoViewer("The photograph with what was found in it");
  view.node.querySelector(".viewer").classList.add("tall");
  const layer = svgEl("g", { class: "found" });
  view.layer.append(layer);
  const words = el("dl", { class: "found-words" });
  const fault = el("p", { class: "fault", role: "alert" });
  const corners = sheetCorners(view);
  const points = twoPoints(view);
  const full = el("div", {}, waysOut(corners.open, points.open), photoButtons(), fault, el("div", { class: "columns wide-left" },
    el("div", {}, view.node, legend()),
    el("div", {}, el("section", { class: "box", "aria-label": "What was found" }, el("h3", { text: "What was found" }), words),
      datumChoice())), photographs(), toldForm(),
  el("div", { class: "columns pair" }, el("div", {}, corners.node, points.node), damagedPlaces(view)));
  full.hidden = true;
  show(body, dropArea(), phoneWay(), full, shootingAdvice());

  let shown = "";
  subscribe(["photo"], () => {
    const photo = read("photo");
    full.hidden = !photo;
    if (!photo) return;
    tell(fault, photo.fault);
    if (!photo.info) return;
    if (photo.url !== shown) { shown = photo.url; view.open(photo.url); }
    drawFound(layer, photo.info.found);
    show(words, ...foundWords(photo.info));
  });
}
