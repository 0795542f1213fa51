/**
 * A reference of two points: two places picked in the photograph to a tenth of a pixel, and the length between them.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, button, el, labelled, show, svgEl } from "../dom.js";
import { jobRows, read, subscribe } from "../state.js";
import { shortLength, typedLength, typedNumber, unitName } from "../units.js";
import { magnifier } from "./magnifier.js";
import { pictureOf } from "./picture_of.js";

const NAMES = ["First point", "Second point"];

/** @param {any} view the photograph @returns {{node: HTMLElement, open: () => void}} */
export function twoPoints(view) {
  /** @type {([number, number] | null)[]} */
  let points = [null, null];
  let isOpen = false;
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "soft", role: "status" });
  const line = svgEl("g", { class: "two-points" });
  view.svg.append(line);

  const place = (which, at) => { points = points.map((each, index) => (index === which ? at : each)); update(); };
  const picture = pictureOf(() => update());
  const glasses = NAMES.map((name, which) => magnifier(name, picture, (at) => place(which, at)));
  const numbers = NAMES.map((name, which) => [0, 1].map((axis) => {
    const input = /** @type {HTMLInputElement} */ (el("input", { type: "text", inputmode: "decimal", class: "typed short",
      "aria-label": `${name}, ${axis ? "down" : "across"}, pixels` }));
    input.addEventListener("change", () => {
      const value = typedNumber(input.value);
      const at = points[which] || [0, 0];
      if (value !== null) place(which, axis ? [at[0], value] : [value, at[1]]);
    });
    return input;
  }));
  const length = /** @type {HTMLInputElement} */ (el("input", { type: "text", inputmode: "decimal", class: "typed",
    autocomplete: "off" }));
  const lengthField = labelled({ label: "Length between them", input: length, hint: "by calliper" });
  const unit = el("span", { class: "unit" });
  lengthField.node.querySelector(".field-row").append(unit);
  const index = () => (read("photoNumber") || 1) - 1;
  const send = (span) => attempt(fault, async () => { await edit([{ do: "change", table: "photo", index: index(),
    row: { span } }]); return true; });
  const use = button("Use this length", async () => {
    const mm = typedLength(length.value);
    if (mm === null || mm <= 0) {
      await attempt(lengthField.fault, async () => { throw Object.assign(new Error(
        "The length between the two points is not there yet."), { wayOut: "Type it like 110.0." }); });
      return;
    }
    await attempt(lengthField.fault, async () => undefined);
    if (await send([...points[0], ...points[1], mm])) said.textContent = "In the job. Measure again to use it.";
  });
  const remove = button("Take it out", async () => { if (await send(null)) { points = [null, null]; length.value = "";
    update(); said.textContent = "Taken out of the job."; } }, { class: "button quiet" });
  const pick = button("Pick two points \u2026", () => (isOpen ? close() : open()), { "aria-pressed": "false",
    class: "button quiet", id: "pick-two-points" });
  const glass = el("div", { class: "glasses" }, ...NAMES.map((name, which) => el("figure", {}, glasses[which].node,
    el("figcaption", { text: name }))));
  view.node.querySelector(".viewer").append(glass);
  const panel = el("div", { class: "two-panel" }, ...NAMES.map((name, which) => el("div", {},
    el("p", { class: "glass-name", text: name }), el("div", { class: "row tight" }, ...numbers[which],
      el("span", { class: "unit", text: "px" })))), el("div", { class: "two-length" }, lengthField.node,
    el("div", { class: "row" }, use, remove)));

  const open = () => {
    isOpen = true;
    view.pick((at) => place(whichPoint(points, at), at.map((value) => Math.round(value * 10) / 10)), close);
    said.textContent = "Click the two points in the photograph; then bring them home in the magnifiers, by click or arrow keys.";
    update();
    view.node.scrollIntoView({ block: "nearest" });
  };
  const close = () => { isOpen = false; view.pick(null); said.textContent = ""; update(); };
  const update = () => {
    panel.hidden = !isOpen;
    glass.hidden = !isOpen;
    pick.setAttribute("aria-pressed", String(isOpen));
    points.forEach((at, which) => {
      glasses[which].update(at);
      numbers[which].forEach((input, axis) => { if (document.activeElement !== input) input.value = at ? at[axis].toFixed(1)
        : ""; });
    });
    use.toggleAttribute("disabled", !points.every(Boolean));
    remove.hidden = !(jobRows("photo")[index()] || {}).span;
    drawPoints(line, view, isOpen || !remove.hidden ? points : [null, null]);
  };
  view.whenMoved(() => drawPoints(line, view, isOpen || !remove.hidden ? points : [null, null]));
  subscribe(["job", "photoNumber", "unit"], () => {
    unit.textContent = unitName();
    const span = (jobRows("photo")[index()] || {}).span;
    if (Array.isArray(span)) {
      points = [[span[0], span[1]], [span[2], span[3]]];
      if (document.activeElement !== length) length.value = shortLength(span[4]);
    }
    update();
  });
  return { open, node: /** @type {HTMLElement} */ (el("section", { class: "box", "aria-label": "Reference of two points" },
    el("div", { class: "row apart" }, el("h3", { text: "A known length in the picture" }), pick), said, panel, fault)) };
}

/**
 * The point that a click means: the one not set yet, else the nearer one.
 * @param {([number, number] | null)[]} points @param {[number, number]} at @returns {number}
 */
function whichPoint(points, at) {
  if (!points[0] || !points[1]) return points[0] ? 1 : 0;
  const far = points.map((each) => Math.hypot(each[0] - at[0], each[1] - at[1]));
  return far[0] <= far[1] ? 0 : 1;
}

/** @param {Element} group @param {any} view @param {([number, number] | null)[]} points */
function drawPoints(group, view, points) {
  const places = points.map((at) => at && view.toScreen(at));
  const cross = ([x, y]) => svgEl("path", {
    d: `M${x - 9} ${y}H${x - 2}M${x + 2} ${y}H${x + 9}M${x} ${y - 9}V${y - 2}M${x} ${y + 2}V${y + 9}` });
  const both = places[0] && places[1];
  show(group, both ? svgEl("line", { x1: places[0][0], y1: places[0][1], x2: places[1][0], y2: places[1][1] }) : null,
    ...places.filter(Boolean).map(cross));
}
