/**
 * The outline's lines, arcs and circles as strokes that can be clicked, in the photograph and in the drawing alike.
 */
// SPDX-License-Identifier: Apache-2.0
import { svgEl } from "../dom.js";

/** @param {[number, number][]} points @param {boolean} closed @returns {string} an SVG path */
export function polyline(points, closed = false) {
  if (!points.length) return "";
  return `M${points.map(([x, y]) => `${x} ${y}`).join("L")}${closed ? "Z" : ""}`;
}

/**
 * @param {Element} layer where the strokes go
 * @param {(id: string, more: boolean, event: MouseEvent) => void} choose called with its id; more: one besides those chosen
 */
export function segmentLayer(layer, choose) {
  const group = svgEl("g", { class: "segments" });
  layer.append(group);
  /** @type {Map<string, Element>} */
  let strokes = new Map();
  return {
    /** @param {{id: string, role: string, free: boolean, d: string}[]} segments */
    set(segments) {
      group.replaceChildren();
      strokes = new Map();
      for (const { id, role, free, d } of segments) {
        const stroke = svgEl("g", { class: `segment ${role}${free ? " free" : ""}`, "data-id": id,
          on: { click: (event) => choose(id, event.shiftKey || event.ctrlKey || event.metaKey, event) } },
        svgEl("path", { class: "reach", d }), svgEl("path", { class: "halo", d }), svgEl("path", { class: "stroke", d }),
        svgEl("title", { text: id }));
        strokes.set(id, stroke);
        group.append(stroke);
      }
    },
    /** @param {string[]} ofDimension @param {string[]} picked segments of the dimension chosen, segments chosen themselves */
    mark(ofDimension, picked) {
      for (const [id, stroke] of strokes) {
        stroke.classList.toggle("meant", ofDimension.includes(id));
        stroke.classList.toggle("picked", picked.includes(id));
      }
    },
  };
}
