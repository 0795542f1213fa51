/**
 * Where the drawing begins: as found, from two holes, along an edge, or at a point of the automatic frame.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, button, el, labelled, show } from "../dom.js";
import { jobRows, read, subscribe } from "../state.js";
import { shortLength, typedLength, typedNumber } from "../units.js";

const KINDS = [["auto", "as found"], ["holes", "two holes: the line through them"], ["edge", "an edge: its direction"],
  ["point", "a point and a direction"]];

/** @param {string} label @returns {{input: any, node: Element}} */
function listField(label) {
  const input = /** @type {HTMLSelectElement} */ (el("select"));
  return { input, node: labelled({ label, input }).node };
}

/** @param {string} label @param {string} unit */
function numberField(label, unit) {
  const input = /** @type {HTMLInputElement} */ (el("input", { type: "text", inputmode: "decimal", class: "typed" }));
  return { input, node: labelled({ label, input, unit }).node };
}

/** @returns {HTMLElement} */
export function datumChoice() {
  const fault = el("p", { class: "fault", role: "alert" });
  const kind = /** @type {HTMLSelectElement} */ (el("select", {}, ...KINDS.map(([value, text]) =>
    el("option", { value, text }))));
  const holes = [listField("First hole"), listField("Second hole")];
  const edge = listField("Edge");
  const point = [numberField("x", "mm or in"), numberField("y", "mm or in"), numberField("Direction of x", "\u00B0")];
  const groups = { holes: el("div", { class: "fields" }, ...holes.map((each) => each.node)), edge: el("div",
    { class: "fields" }, edge.node),
    point: el("div", { class: "fields" }, ...point.map((each) => each.node)) };
  const words = el("p", { class: "soft" });

  const wanted = () => {
    if (kind.value === "holes") return { kind: "holes", of: holes.map((each) => each.input.value) };
    if (kind.value === "edge") return { kind: "edge", of: [edge.input.value] };
    const [x, y] = point.slice(0, 2).map((each) => typedLength(each.input.value));
    if (x === null || y === null) throw Object.assign(new Error("A point needs x and y."), { wayOut: "Type both, like 12.5." });
    return { kind: "point", origin: [x, y], angle_deg: typedNumber(point[2].input.value) || 0 };
  };
  const take = () => attempt(fault, async () => {
    const isThere = jobRows("datum").length > 0;
    const edits = isThere ? [{ do: "untable", at: "datum" }] : [];
    if (kind.value !== "auto") edits.push({ do: "table", at: "datum", row: wanted() });
    if (edits.length) await edit(edits);
  });
  const use = button("Take this datum", take, { class: "button quiet" });
  const shape = () => { for (const [name, group] of Object.entries(groups)) group.hidden = name !== kind.value; };
  kind.addEventListener("change", shape);
  const node = /** @type {HTMLElement} */ (el("section", { class: "box", "aria-label": "Datum" },
    el("h3", { text: "Datum of the drawing" }), words,
    labelled({ label: "It comes from", input: kind }).node, ...Object.values(groups), el("div", { class: "row" }, use), fault));

  subscribe(["job", "outline", "unit"], () => {
    const outline = read("outline");
    node.hidden = !outline;
    if (!outline) return;
    words.textContent = `Now: ${outline.outline.datum.text}.`;
    const row = jobRows("datum")[0] || { kind: "auto" };
    const segments = outline.outline.design.loops.flatMap((loop) => loop.segments);
    const ids = (type) => segments.filter((each) => each.type === type).map((each) => each.id);
    holes.forEach((each, index) => fillIds(each.input, ids("circle"), (row.kind === "holes" && row.of[index]) || each.input.value,
      index));
    fillIds(edge.input, ids("line"), (row.kind === "edge" && row.of[0]) || edge.input.value, 0);
    if (document.activeElement === node || node.contains(document.activeElement)) return;
    kind.value = row.kind || "auto";
    if (row.kind === "point") [...row.origin.map(shortLength), String(row.angle_deg || 0)].forEach((text, index) =>
      { point[index].input.value = text; });
    shape();
  });
  return node;
}

/** @param {HTMLSelectElement} list @param {string[]} ids @param {string} chosen @param {number} otherwise */
function fillIds(list, ids, chosen, otherwise) {
  show(list, ...ids.map((id) => el("option", { value: id, text: id })));
  list.value = ids.includes(chosen) ? chosen : ids[otherwise] || "";
}
