/**
 * The clean drawing on squared paper: the design's lines, arcs and circles, true to scale, with room for balloons.
 *
 * Coordinates are mm, x right, y DOWN (the server has turned them already).  It moves by drag, arrow keys and buttons.
 */
// SPDX-License-Identifier: Apache-2.0
import { button, el, svgEl } from "../dom.js";

const EDGE = 34;
const NEARER = 1.6;
const STEP = 40;
const ARROWS = { ArrowLeft: [STEP, 0], ArrowRight: [-STEP, 0], ArrowUp: [0, STEP], ArrowDown: [0, -STEP] };

/** @param {string} label @returns the view, in the same form as the photograph's */
export function drawingView(label) {
  const squares = svgEl("path", { class: "squares" });
  const layer = svgEl("g", { class: "in-drawing" });
  const svg = svgEl("svg", { class: "drawing", tabindex: "0", role: "group", "aria-label": `${label}. Arrow keys move it.` });
  const inside = svgEl("g", {}, squares, layer);
  svg.append(inside);
  const holder = el("div", { class: "viewer paper" }, svg);
  const moved = [];
  const still = [];
  let box = { x: 0, y: 0, width: 100, height: 70 };
  let scale = 1;
  let left = 0;
  let top = 0;
  let whole = true;

  const place = () => {
    inside.setAttribute("transform", `translate(${left} ${top}) scale(${scale})`);
    for (const listener of moved) listener();
  };
  const rest = () => { place(); for (const listener of still) listener(); };
  const fit = () => {
    const { clientWidth: width, clientHeight: height } = holder;
    if (!width || !height) return;
    scale = Math.min((width - 2 * EDGE) / box.width, (height - 2 * EDGE) / box.height);
    left = width / 2 - scale * (box.x + box.width / 2);
    top = height / 2 - scale * (box.y + box.height / 2);
    whole = true;
    rest();
  };
  const measure = () => {
    const found = layer.getBBox();
    if (!found.width) return false;
    const grown = Math.abs(found.width - box.width) > 1 || Math.abs(found.height - box.height) > 1;
    box = { x: found.x, y: found.y, width: found.width, height: found.height };
    squares.setAttribute("d", squaredPaper(box));
    return grown;
  };
  const zoom = (factor, at = [holder.clientWidth / 2, holder.clientHeight / 2]) => {
    scale *= factor;
    left = at[0] - (at[0] - left) * factor;
    top = at[1] - (at[1] - top) * factor;
    whole = false;
    rest();
  };
  const shift = (dx, dy) => { left += dx; top += dy; whole = false; };
  new ResizeObserver(() => (measure() || whole ? fit() : rest())).observe(holder);
  watchHand(svg, shift, place, rest);
  svg.addEventListener("keydown", (event) => {
    const by = ARROWS[event.key];
    if (!by && !"+-".includes(event.key)) return;
    event.preventDefault();
    if (by) { shift(by[0], by[1]); rest(); } else zoom(event.key === "+" ? NEARER : 1 / NEARER);
  });
  svg.addEventListener("wheel", (event) => {
    if (document.activeElement !== svg && !event.ctrlKey) return;
    event.preventDefault();
    const frame = svg.getBoundingClientRect();
    zoom(event.deltaY < 0 ? 1.2 : 1 / 1.2, [event.clientX - frame.left, event.clientY - frame.top]);
  }, { passive: false });

  /** @type {((point: [number, number]) => void) | null} */
  let picking = null;
  /** @type {(() => void) | null} */
  let atEnd = null;
  let isChanging = false;
  svg.addEventListener("click", (event) => {
    const frame = svg.getBoundingClientRect();
    if (picking) picking([(event.clientX - frame.left - left) / scale, (event.clientY - frame.top - top) / scale]);
  });
  const tools = el("div", { class: "row view-tools" }, button("Nearer", () => zoom(NEARER), { class: "button quiet small" }),
    button("Farther", () => zoom(1 / NEARER), { class: "button quiet small" }),
    button("Whole drawing", fit, { class: "button quiet small" }));
  return {
    node: el("div", { class: "view" }, holder, tools), tools, svg, layer,
    /** Fits the paper round what the layer holds. */
    refit() { if (measure() || whole) fit(); },
    /** @param {[number, number]} point @returns {[number, number]} */
    toScreen: (point) => [left + point[0] * scale, top + point[1] * scale],
    size: () => ({ width: holder.clientWidth, height: holder.clientHeight }),
    whenMoved: (listener) => moved.push(listener),
    whenStill: (listener) => still.push(listener),
    pick(listener, ended = null) {
      // a tool that ends because another one begins must not end that one too
      if (isChanging) return;
      const before = atEnd;
      [picking, atEnd] = [listener, listener ? ended : null];
      holder.classList.toggle("picks", Boolean(listener));
      if (!before || before === ended) return;
      isChanging = true;
      before();
      isChanging = false;
    },
  };
}

/**
 * Moves the paper with the hand.
 * @param {Element} svg
 * @param {(dx: number, dy: number) => void} shift
 * @param {() => void} place
 * @param {() => void} rest
 */
function watchHand(svg, shift, place, rest) {
  let at = null;
  let far = 0;
  svg.addEventListener("pointerdown", (event) => { at = [event.clientX, event.clientY]; far = 0; });
  svg.addEventListener("pointermove", (event) => {
    if (!at || !event.buttons) return;
    far += Math.hypot(event.clientX - at[0], event.clientY - at[1]);
    if (far < 4) return;
    shift(event.clientX - at[0], event.clientY - at[1]);
    at = [event.clientX, event.clientY];
    place();
  });
  svg.addEventListener("pointerup", () => { if (at && far >= 4) rest(); at = null; });
  svg.addEventListener("click", (event) => { if (far >= 4) event.stopImmediatePropagation(); }, { capture: true });
}

/**
 * Lines every 10 mm, a square beyond the part on each side.
 * @param {{x: number, y: number, width: number, height: number}} box
 */
function squaredPaper(box) {
  const from = [Math.floor(box.x / 10) * 10 - 100, Math.floor(box.y / 10) * 10 - 100];
  const to = [Math.ceil((box.x + box.width) / 10) * 10 + 100, Math.ceil((box.y + box.height) / 10) * 10 + 100];
  const lines = [];
  for (let x = from[0]; x <= to[0]; x += 10) lines.push(`M${x} ${from[1]}V${to[1]}`);
  for (let y = from[1]; y <= to[1]; y += 10) lines.push(`M${from[0]} ${y}H${to[0]}`);
  return lines.join("");
}
