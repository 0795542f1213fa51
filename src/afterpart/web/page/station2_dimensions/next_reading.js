/**
 * "Measure this next": the readings that would tell most, and how to hold the calliper for each.
 */
// SPDX-License-Identifier: Apache-2.0
import { button, el, show } from "../dom.js";
import { write } from "../state.js";

/** @returns {{node: Element, update: (outline: any) => void}} */
export function nextReadings(goTo) {
  const list = el("ol", { class: "next-list" });
  const node = el("section", { class: "box next", "aria-label": "Measure this next" }, el("h3", { text: "Measure this next" }),
    list);
  return {
    node,
    update(outline) {
      node.hidden = !outline.next.length;
      show(list, ...outline.next.map((each) => el("li", {}, button(String(each.number), () => { write({ selected: each.id });
        goTo(each.id); },
        { class: "balloon-button", "aria-label": `Number ${each.number}: go to its reading` }),
      el("span", { class: "how" }, el("span", { text: each.how }),
        el("span", { class: "soft", text: ` \u2014 tells ${worth(each.gain_bits)}` })))));
    },
  };
}

/** @param {number} bits @returns {string} what a reading is worth, in words with its bits */
function worth(bits) {
  const word = bits >= 2 ? "very much" : bits >= 1 ? "much" : "something";
  return `${word} (${bits.toFixed(1)} bits)`;
}
