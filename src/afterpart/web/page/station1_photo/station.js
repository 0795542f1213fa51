/**
 * Station 1, photo: where it comes in, what was found in it, what is told about it, a known length, the datum, advice.
 */
// SPDX-License-Identifier: Apache-2.0
import { button, el, show, svgEl, tell } from "../dom.js";
import { photoViewer } from "../picture/viewer.js";
import { jobRows, read, subscribe, write } from "../state.js";
import { shootingAdvice } from "./advice.js";
import { damagedPlaces } from "./damage.js";
import { datumChoice } from "./datum.js";
import { dropArea } from "./drop.js";
import { drawFound, foundWords, legend } from "./found.js";
import { phoneWay } from "./phone_way.js";
import { toldForm } from "./told.js";
import { twoPoints } from "./two_points.js";

/** One button a photograph, when there are several. @returns {HTMLElement} */
function photoList() {
  const node = /** @type {HTMLElement} */ (el("div", { class: "row", role: "group", "aria-label": "Photographs of this job" }));
  subscribe(["job", "photoNumber"], () => {
    const rows = jobRows("photo");
    node.hidden = rows.length < 2;
    show(node, ...rows.map((row, index) => button(`${index + 1}  ${row.file}`, () => write({ photoNumber: index + 1 }),
      { class: "button quiet small", "aria-pressed": String(index + 1 === read("photoNumber")) })));
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
  const full = el("div", {}, photoList(), fault, el("div", { class: "columns wide-left" },
    el("div", {}, view.node, legend()),
    el("div", {}, el("section", { class: "box", "aria-label": "What was found" }, el("h3", { text: "What was found" }), words),
      datumChoice())), toldForm(),
  el("div", { class: "columns pair" }, twoPoints(view), damagedPlaces(view)));
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
