/**
 * Four handles over the photograph, one a corner of the sheet: dragged by hand, moved by arrow keys, one magnifier for all.
 *
 * Arrow keys move a handle by one pixel of the picture, with Shift by twenty; in the magnifier by a tenth, with Shift by one.
 */
// SPDX-License-Identifier: Apache-2.0
import { button, el, svgEl, show } from "../dom.js";
import { magnifier } from "./magnifier.js";

export const CORNERS = ["First corner", "Second corner", "Third corner", "Fourth corner"];
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** @typedef {[number, number]} Point */

/**
 * @param {any} view the photograph
 * @param {() => HTMLImageElement | null} picture
 * @param {(which: number, at: Point) => void} move
 */
export function cornerHandles(view, picture, move) {
  /** @type {Point[]} */
  let places = [];
  let active = 0;
  const holder = view.node.querySelector(".viewer");
  const glass = magnifier("Corner in hand", picture, (at) => move(active, at));
  const name = el("figcaption");
  const figure = /** @type {HTMLElement} */ (el("figure", {}, glass.node, name));
  const glasses = /** @type {HTMLElement} */ (el("div", { class: "glasses in-middle" }, figure));
  const sides = svgEl("g", { class: "corner-sides" });
  view.svg.append(sides);
  const handles = CORNERS.map((label, which) => handle(label, which));
  const layer = /** @type {HTMLElement} */ (el("div", { class: "handles" }, ...handles));
  layer.hidden = true;
  glasses.hidden = true;
  holder.append(layer, glasses);

  /** @param {string} label @param {number} which */
  function handle(label, which) {
    const node = /** @type {HTMLButtonElement} */ (button("", () => undefined, { class: "handle",
      "aria-label": `${label} of the sheet: drag it, or arrow keys by one pixel, with Shift by twenty` }));
    let off = null;
    const here = (event) => { const frame = holder.getBoundingClientRect();
      return [event.clientX - frame.left - holder.clientLeft, event.clientY - frame.top - holder.clientTop]; };
    node.addEventListener("pointerdown", (event) => {
      const [x, y] = view.toScreen(places[which]);
      const [hx, hy] = here(event);
      off = [x - hx, y - hy];
      node.setPointerCapture(event.pointerId);
      take(which);
      event.preventDefault();
      node.focus({ preventScroll: true });
    });
    node.addEventListener("pointermove", (event) => {
      if (!off) return;
      const [x, y] = here(event);
      move(which, view.toPicture([x + off[0], y + off[1]]));
    });
    for (const end of ["pointerup", "pointercancel"]) node.addEventListener(end, () => { off = null; });
    node.addEventListener("focus", () => take(which));
    node.addEventListener("keydown", (event) => {
      const step = STEPS[event.key];
      if (!step) return;
      event.preventDefault();
      const by = event.shiftKey ? 20 : 1;
      move(which, [places[which][0] + step[0] * by, places[which][1] + step[1] * by]);
    });
    return node;
  }

  const take = (which) => { active = which; place(); };
  const place = () => {
    if (layer.hidden || !places.length) { show(sides); return; }
    const at = places.map((each) => view.toScreen(each));
    handles.forEach((node, which) => {
      node.style.left = `${at[which][0]}px`;
      node.style.top = `${at[which][1]}px`;
      node.classList.toggle("in-hand", which === active);
    });
    const round = inOrder(at);
    show(sides, svgEl("path", { d: `M${round.map(([x, y]) => `${x} ${y}`).join("L")}Z` }));
    name.textContent = CORNERS[active];
    glass.update(places[active]);
  };
  view.whenMoved(place);

  return {
    /** @param {Point[]} corners @param {boolean} shown */
    set(corners, shown) {
      places = corners;
      layer.hidden = !shown || !corners.length;
      glasses.hidden = layer.hidden;
      place();
    },
    focus: () => handles[active].focus({ preventScroll: true }),
  };
}

/** Points round their middle. @param {Point[]} points @returns {Point[]} */
function inOrder(points) {
  const [x, y] = [0, 1].map((axis) => points.reduce((sum, each) => sum + each[axis] / points.length, 0));
  return [...points].sort((a, b) => Math.atan2(a[1] - y, a[0] - x) - Math.atan2(b[1] - y, b[0] - x));
}
