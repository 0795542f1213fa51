/**
 * Numbered balloons over a picture: a number in a circle, its leader to what it belongs to, the same in every picture.
 *
 * A view gives {svg, toScreen(point), size(), whenMoved(listener), whenStill(listener)}; the balloons keep their size on the
 * screen, and find their room anew when the view has come to rest.
 */
// SPDX-License-Identifier: Apache-2.0
import { svgEl } from "../dom.js";
import { spread } from "./spread.js";

const RADIUS = 10;

/**
 * @typedef {{id: string, number: number | string, at: [number, number]}} Balloon
 * @param {any} view @param {(id: string) => void} choose
 */
export function balloonLayer(view, choose) {
  const group = svgEl("g", { class: "balloons" });
  view.svg.append(group);
  /** @type {{balloon: Balloon, node: Element, leader: Element, off: [number, number]}[]} */
  let shown = [];
  let chosen = "";

  const place = () => {
    for (const { balloon, node, leader, off } of shown) {
      const [x, y] = view.toScreen(balloon.at);
      node.setAttribute("transform", `translate(${x + off[0]} ${y + off[1]})`);
      const long = Math.hypot(off[0], off[1]) || 1;
      const tip = Math.max(0, 1 - RADIUS / long);
      for (const [name, value] of [["x1", x], ["y1", y], ["x2", x + off[0] * tip], ["y2", y + off[1] * tip]]) {
        leader.setAttribute(String(name), String(value));
      }
    }
  };
  const settle = () => {
    const anchors = shown.map(({ balloon }) => view.toScreen(balloon.at));
    const places = spread(anchors, 2 * RADIUS + 2, 17, view.size());
    shown = shown.map((each, index) => ({ ...each, off: [places[index][0] - anchors[index][0],
      places[index][1] - anchors[index][1]] }));
    place();
  };
  view.whenMoved(place);
  view.whenStill(settle);

  return {
    /** @param {Balloon[]} balloons */
    set(balloons) {
      group.replaceChildren();
      shown = balloons.map((balloon) => {
        const leader = svgEl("line", { class: "leader" });
        const node = svgEl("g", { class: "balloon", "data-id": balloon.id, on: { click: () => choose(balloon.id) } },
          svgEl("circle", { r: RADIUS }), svgEl("text", { "text-anchor": "middle", dy: "0.35em", text: String(balloon.number) }));
        group.append(leader, node);
        return { balloon, node, leader, off: [0, 0] };
      });
      this.mark(chosen);
      settle();
    },
    /** @param {string} id the balloon that is chosen */
    mark(id) {
      chosen = id;
      for (const { balloon, node, leader } of shown) {
        node.classList.toggle("chosen", balloon.id === id);
        leader.classList.toggle("chosen", balloon.id === id);
        if (balloon.id === id) group.append(leader, node);
      }
    },
  };
}
