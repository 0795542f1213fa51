/**
 * The sheet's corners by hand, where the sheet was not found by itself: four handles, its size, and into the job.  The program
 * then looks for the paper's edges between them, so that some pixels beside are no harm.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit, work } from "../api.js";
import { attempt, button, el, labelled, newId } from "../dom.js";
import { isBusy } from "../progress.js";
import { jobRows, read, subscribe } from "../state.js";
import { typedNumber } from "../units.js";
import { CORNERS, cornerHandles } from "./corner_handles.js";
import { pictureOf } from "./picture_of.js";

const SIZES = ["A4", "letter", "A3", "A5", "legal"];
const INSET = 0.12;
const HOW = "Drag each handle onto a corner of the sheet. The edges between them are then looked for, so a few pixels beside are "
  + "no harm; where an edge does not show, the corner counts as you put it.";

const tenth = (value) => Math.round(value * 10) / 10;

/** Corners to begin with. @param {any} row of the job @param {any} photo @returns {[number, number][]} */
function firstCorners(row, photo) {
  const told = row.sheet_corners_px;
  if (Array.isArray(told) && told.length === 8) return [0, 1, 2, 3].map((k) => [told[2 * k], told[2 * k + 1]]);
  if (!photo || !photo.info) return [];
  const sheet = (photo.info.found.references || []).find((each) => each.kind === "sheet" && each.polyline_px.length > 3);
  const { width, height } = photo.info;
  if (!sheet) {
    return [[INSET, INSET], [1 - INSET, INSET], [1 - INSET, 1 - INSET], [INSET, 1 - INSET]].map(([x, y]) => [tenth(x * width),
      tenth(y * height)]);
  }
  return meetingSides(sheet.polyline_px);
}

/**
 * Where the four longest sides of a closed chain meet: what was seen of a sheet ends short of its corners.
 * @param {[number, number][]} chain @returns {[number, number][]}
 */
function meetingSides(chain) {
  const length = (from, to) => Math.hypot(to[0] - from[0], to[1] - from[1]);
  const sides = chain.slice(1).map((to, k) => ({ from: chain[k], to, k, long: length(chain[k], to) }))
    .sort((a, b) => b.long - a.long).slice(0, 4).sort((a, b) => a.k - b.k);
  return sides.map((side, k) => {
    const next = sides[(k + 1) % sides.length];
    const [ax, ay, bx, by] = [side.to[0] - side.from[0], side.to[1] - side.from[1], next.to[0] - next.from[0],
      next.to[1] - next.from[1]];
    const share = ((next.from[0] - side.from[0]) * by - (next.from[1] - side.from[1]) * bx) / (ax * by - ay * bx || 1);
    return [tenth(side.from[0] + share * ax), tenth(side.from[1] + share * ay)];
  });
}

/** @param {any} view the photograph @returns {{node: HTMLElement, open: () => void}} */
export function sheetCorners(view) {
  /** @type {[number, number][]} */
  let corners = [];
  let isOpen = false;
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "soft", role: "status" });
  const index = () => (read("photoNumber") || 1) - 1;
  const row = () => jobRows("photo")[index()] || {};
  const place = (which, at) => {
    const { width, height } = (read("photo") || { info: null }).info || { width: Infinity, height: Infinity };
    const inside = [Math.min(Math.max(at[0], 0), width), Math.min(Math.max(at[1], 0), height)].map(tenth);
    corners = corners.map((each, k) => (k === which ? inside : each));
    update();
  };
  const handles = cornerHandles(view, pictureOf(() => update()), place);
  const numbers = CORNERS.map((name, which) => [0, 1].map((axis) => {
    const input = /** @type {HTMLInputElement} */ (el("input", { type: "text", inputmode: "decimal", class: "typed short",
      "aria-label": `${name}, ${axis ? "down" : "across"}, pixels` }));
    input.addEventListener("change", () => {
      const value = typedNumber(input.value);
      if (value !== null && corners[which]) place(which, axis ? [corners[which][0], value] : [value, corners[which][1]]);
    });
    return input;
  }));
  const offered = newId("sizes");
  const size = /** @type {HTMLInputElement} */ (el("input", { type: "text", class: "typed", list: offered, autocomplete: "off",
    placeholder: "A4 or letter, by its shape" }));
  const sizeField = labelled({ label: "Size of the sheet", input: size, hint: "A3 A4 A5 letter legal, or width x height in mm" });
  sizeField.node.append(el("datalist", { id: offered }, ...SIZES.map((each) => el("option", { value: each }))));
  const send = (change) => attempt(fault, async () => {
    await edit([{ do: "change", table: "photo", index: index(), row: change }]);
    return true;
  });
  const again = button("Measure again", () => attempt(fault, () => work("measure")), { class: "button" });
  const use = button("Use these corners", async () => {
    if (await send({ sheet_corners_px: corners.flat(), ...(size.value.trim() ? { sheet: size.value.trim() } : {}) })) {
      said.textContent = "In the job. Measure again to use them.";
      again.hidden = false;
    }
  });
  const remove = button("Take them out", async () => { if (await send({ sheet_corners_px: null })) {
    said.textContent = "Taken out of the job: the sheet is looked for by itself again."; again.hidden = false; } },
  { class: "button quiet" });
  const drag = button("Drag the sheet\u2019s corners \u2026", () => (isOpen ? close() : open()), { class: "button quiet",
    "aria-pressed": "false" });
  const panel = el("div", {}, el("p", { class: "hint", text: HOW }), el("div", { class: "two-panel" }, sizeField.node, el("div",
    { class: "corner-numbers" }, ...CORNERS.map((name, which) => el("div", { class: "row tight" }, el("span", { class: "soft",
      text: name }), ...numbers[which], el("span", { class: "unit", text: "px" }))))), el("div", { class: "row" }, use, remove));

  const open = () => {
    isOpen = true;
    corners = firstCorners(row(), read("photo"));
    size.value = row().sheet || "";
    said.textContent = "";
    again.hidden = true;
    // two tools would fight over the clicks
    view.pick(() => undefined, close);
    update();
    view.node.scrollIntoView({ block: "nearest" });
    handles.focus();
  };
  const close = () => {
    if (!isOpen) return;
    isOpen = false;
    view.pick(null);
    update();
    drag.focus({ preventScroll: true });
  };
  const update = () => {
    panel.hidden = !isOpen;
    drag.setAttribute("aria-pressed", String(isOpen));
    drag.textContent = isOpen ? "Done with the corners" : "Drag the sheet\u2019s corners \u2026";
    remove.hidden = !row().sheet_corners_px;
    handles.set(corners, isOpen);
    numbers.forEach((pair, which) => pair.forEach((input, axis) => {
      if (document.activeElement !== input) input.value = corners[which] ? corners[which][axis].toFixed(1) : "";
    }));
  };
  document.addEventListener("keydown", (event) => { if (event.key === "Escape" && isOpen) close(); });
  subscribe(["photoNumber"], () => close());
  subscribe(["job"], update);
  subscribe(["work"], () => { again.disabled = isBusy(); if (isBusy()) { again.hidden = true; said.textContent = ""; } });
  again.hidden = true;
  return { open, node: /** @type {HTMLElement} */ (el("section", { class: "box", "aria-label": "Corners of the sheet" },
    el("div", { class: "row apart" }, el("h3", { text: "The sheet by hand" }), drag), panel,
    el("div", { class: "row" }, said, again), fault)) };
}
