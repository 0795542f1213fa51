/**
 * A magnifier over one point of the photograph: single pixels, a cross, and a point that moves by a tenth of a pixel.
 *
 * Arrow keys move the point by 0.1 pixel, with Shift by 1; a click sets it.  Middles of pixels are at .5.
 */
// SPDX-License-Identifier: Apache-2.0
import { el } from "../dom.js";

const SIZE = 176;
const ZOOM = 11;
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** @param {number} value */
const tenth = (value) => Math.round(value * 10) / 10;

/**
 * @param {string} label @param {() => HTMLImageElement | null} picture @param {(point: [number, number]) => void} move
 */
export function magnifier(label, picture, move) {
  const canvas = /** @type {HTMLCanvasElement} */ (el("canvas", { width: SIZE, height: SIZE, tabindex: "0", class: "magnifier",
    role: "application",
    "aria-roledescription": "magnifier",
      "aria-label": `${label}: arrow keys move it by a tenth of a pixel, with Shift by one` }));
  /** @type {[number, number] | null} */
  let point = null;
  canvas.addEventListener("keydown", (event) => {
    const step = STEPS[event.key];
    if (!step || !point) return;
    event.preventDefault();
    const by = event.shiftKey ? 1 : 0.1;
    move([tenth(point[0] + step[0] * by), tenth(point[1] + step[1] * by)]);
  });
  canvas.addEventListener("click", (event) => {
    if (!point) return;
    const frame = canvas.getBoundingClientRect();
    const scale = SIZE / frame.width;
    move([tenth(point[0] + ((event.clientX - frame.left) * scale - SIZE / 2) / ZOOM),
      tenth(point[1] + ((event.clientY - frame.top) * scale - SIZE / 2) / ZOOM)]);
  });
  return { node: canvas,
    /** @param {[number, number] | null} at */
    update(at) {
      point = at;
      draw(canvas, picture(), at);
    } };
}

/** @param {HTMLCanvasElement} canvas @param {HTMLImageElement | null} picture @param {[number, number] | null} at */
function draw(canvas, picture, at) {
  const pen = canvas.getContext("2d");
  pen.clearRect(0, 0, SIZE, SIZE);
  if (!picture || !at) return;
  pen.imageSmoothingEnabled = false;
  const reach = SIZE / ZOOM;
  pen.drawImage(picture, at[0] - reach / 2, at[1] - reach / 2, reach, reach, 0, 0, SIZE, SIZE);
  const middle = SIZE / 2;
  for (const [colour, width] of [["#000000", 3], ["#ffd9cf", 1]]) {
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.beginPath();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      pen.moveTo(middle + 5 * dx, middle + 5 * dy);
      pen.lineTo(middle + 40 * dx, middle + 40 * dy);
    }
    pen.stroke();
    pen.strokeRect(middle - 1, middle - 1, 2, 2);
  }
}
