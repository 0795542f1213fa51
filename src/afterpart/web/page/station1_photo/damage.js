/**
 * Damaged places: a circle round a chip, a crack or a bent ear, left out of the rims and drawn from its neighbours or from the
 * part's other side.  One click sets the middle, the next one the edge of the circle.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, button, el, labelled, show, svgEl } from "../dom.js";
import { jobRows, read, subscribe } from "../state.js";

const SOURCES = [["neighbours", "its neighbours, drawn on"], ["mirror", "the part\u2019s other side"]];

/** @param {any} view the photograph @returns {HTMLElement} */
export function damagedPlaces(view) {
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "soft", role: "status" });
  const circles = svgEl("g", { class: "damage" });
  view.layer.append(circles);
  const list = el("ul", { class: "plain-list" });
  const offered = SOURCES.map(([value, text]) => el("option", { value, text }));
  const source = /** @type {HTMLSelectElement} */ (el("select", {}, ...offered));
  const number = () => read("photoNumber") || 1;
  /** @type {[number, number] | null} */
  let middle = null;
  const stop = () => {
    middle = null;
    view.pick(null);
    mark.setAttribute("aria-pressed", "false");
    said.textContent = "";
  };
  const click = (at) => {
    if (!middle) {
      middle = at;
      said.textContent = "Now click where the circle round it shall end.";
      return;
    }
    const radius = Math.round(Math.hypot(at[0] - middle[0], at[1] - middle[1]));
    const row = { at: middle.map(Math.round), radius, from: source.value, ...(number() > 1 ? { photo: number() } : {}) };
    stop();
    void attempt(fault, () => edit([{ do: "add", table: "damage", row }]));
  };
  const mark = button("Mark a damaged place \u2026", () => {
    if (mark.getAttribute("aria-pressed") === "true") { stop(); return; }
    mark.setAttribute("aria-pressed", "true");
    said.textContent = "Click into the middle of the damage in the photograph. Escape stops.";
    view.pick(click, stop);
    view.node.scrollIntoView({ block: "nearest" });
  }, { class: "button quiet", "aria-pressed": "false" });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && mark.getAttribute("aria-pressed") === "true") stop();
  });

  subscribe(["job", "photoNumber"], () => {
    const rows = jobRows("damage").map((row, index) => ({ row, index })).filter(({ row }) => (row.photo || 1) === number());
    show(circles, ...rows.map(({ row }) => svgEl("circle", { cx: row.at[0], cy: row.at[1], r: row.radius })));
    show(list, ...rows.map(({ row, index }) => el("li", {}, damageWords(row), button("Take back",
      () => attempt(fault, () => edit([{ do: "drop", table: "damage", index }])), { class: "button quiet small",
        "aria-label": `Take back: ${damageWords(row)}` }))));
  });
  return /** @type {HTMLElement} */ (el("section", { class: "box", "aria-label": "Damaged places" },
    el("div", { class: "row apart" }, el("h3", { text: "Damaged places" }), mark),
    el("div", { class: "fields" }, labelled({ label: "Their shape comes from", input: source }).node), said, fault, list));
}

/** @param {any} row @returns {string} */
function damageWords(row) {
  const from = (SOURCES.find(([value]) => value === (row.from || "neighbours")) || SOURCES[0])[1];
  return `at pixel ${row.at.join(", ")}, radius ${row.radius}: from ${from}`;
}
