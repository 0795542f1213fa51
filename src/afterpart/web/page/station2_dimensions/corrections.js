/**
 * Corrections of the drawing: what a stretch of rim is, what belongs together, which hole was missed or invented.
 *
 * Segments are chosen by a click in the photograph or in the drawing, or in the two lists (the keyboard's way).  Each correction
 * is one [[edit]] row of the job; the list below the buttons takes one back.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, button, el, labelled, show } from "../dom.js";
import { jobRows, read, subscribe, write } from "../state.js";

const ALONE = [["line", "A line", "a straight edge"], ["arc", "An arc", "part of a circle"], ["circle", "A circle",
  "the whole loop is a circle"],
  ["free", "Set free", "no designer's number; the measured shape stands"]];
const TOGETHER = [["join", "Join", "both are one"], ["tangent", "Tangent", "they meet without a kink"],
  ["symmetric", "Symmetric", "mirror images about the datum's axis"],
  ["equal", "Equal", "the same radius"], ["parallel", "Parallel", ""], ["perpendicular", "Perpendicular", ""],
    ["concentric", "Concentric", "one middle"]];
const SAID = { line: "is a line", arc: "is an arc", circle: "is a circle", free: "set free", split: "split", join: "joined",
  tangent: "tangent",
  symmetric: "symmetric", equal: "equal", parallel: "parallel", perpendicular: "perpendicular", concentric: "concentric",
  hole: "a missed hole added", drop: "is no hole: dropped" };

const HOW = "Click a line, arc or circle in either picture (with Shift for a second one), or choose it here; "
  + "then say what it is.";

/** @param {any} path @returns {string} "s4, outside" */
function segmentWords(path) {
  const where = { pocket: "pocket", pad: "pad" }[path.wall]
    || { outer: "outside", opening: "opening", channel: "channel" }[path.role] || path.role;
  return `${path.segment}, ${where}${path.free ? ", free" : ""}`;
}

/** @param {HTMLSelectElement} list @param {any[]} paths @param {string} chosen @param {string} none */
function fillList(list, paths, chosen, none) {
  show(list, el("option", { value: "", text: none }), ...paths.map((path) => el("option", { value: path.segment,
    text: segmentWords(path) })));
  list.value = paths.some((path) => path.segment === chosen) ? chosen : "";
}

/**
 * @param {{photo: any, drawing: any}} views where a place can be pointed out
 * @returns {{node: Element}}
 */
export function corrections(views) {
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "soft", role: "status" });
  const first = /** @type {HTMLSelectElement} */ (el("select", { on: { change: () => pick([first.value, second.value]) } }));
  const second = /** @type {HTMLSelectElement} */ (el("select", { on: { change: () => pick([first.value, second.value]) } }));
  const pick = (ids) => write({ picked: ids.filter((id, index) => id && ids.indexOf(id) === index) });
  const add = (row) => attempt(fault, async () => { await edit([{ do: "add", table: "edit", row }]); write({ picked: [] });
    return true; });

  const alone = ALONE.map(([what, text, title]) => button(text, () => add({ what, of: read("picked") }),
    { class: "button quiet small", title }));
  const drop = button("No hole: drop it", () => add({ what: "drop", of: read("picked").slice(0, 1) }),
    { class: "button quiet small" });
  const split = button("Split here \u2026", () => point("split"), { class: "button quiet small", "aria-pressed": "false" });
  const together = TOGETHER.map(([what, text, title]) => button(text, () => add({ what, of: read("picked") }),
    { class: "button quiet small", title }));
  const hole = button("Add a missed hole \u2026", () => point("hole"), { class: "button", "aria-pressed": "false" });

  let pointing = "";
  const stop = () => {
    pointing = "";
    for (const view of [views.photo, views.drawing]) view.pick(null);
    for (const each of [split, hole]) each.setAttribute("aria-pressed", "false");
    said.textContent = "";
  };
  const round = (at) => at.map((value) => Math.round(value * 10) / 10);
  const point = (what) => {
    if (pointing === what) { stop(); return; }
    stop();
    pointing = what;
    (what === "hole" ? hole : split).setAttribute("aria-pressed", "true");
    const of = read("picked").slice(0, 1);
    said.textContent = what === "hole" ? "Click into the missed hole in the photograph. Escape stops."
      : `Click the place on ${of.join("")} in the photograph or the drawing. Escape stops.`;
    const photo = (read("photo") || { number: 1 }).number;
    const number = photo === 1 ? {} : { photo };
    views.photo.pick((at) => { stop(); void add({ what, ...(of.length && what === "split" ? { of } : {}), at_px: round(at),
      ...number }); });
    if (what === "split") views.drawing.pick(([x, y]) => { stop(); void add({ what, of, at: [Math.round(x * 100) / 100,
      Math.round(-y * 100) / 100] }); });
    views.photo.node.scrollIntoView({ block: "nearest" });
  };
  document.addEventListener("keydown", (event) => { if (event.key === "Escape" && pointing) stop(); });

  const list = el("ul", { class: "plain-list" });
  const choice = el("div", { class: "fields two" }, labelled({ label: "Segment", input: first }).node,
    labelled({ label: "and", input: second }).node);
  subscribe(["picked", "outline"], () => {
    const paths = (read("outline") || { paths: [] }).paths;
    const picked = read("picked") || [];
    fillList(first, paths, picked[0] || "", "none chosen");
    fillList(second, paths, picked[1] || "", "no second one");
    const chosen = paths.find((path) => path.segment === picked[0]);
    for (const each of [...alone, split]) each.toggleAttribute("disabled", picked.length !== 1);
    for (const each of together) each.toggleAttribute("disabled", picked.length < 2);
    drop.toggleAttribute("disabled", picked.length !== 1 || !chosen || chosen.role !== "opening");
  });
  let listed = "";
  subscribe(["job"], () => {
    const rows = jobRows("edit");
    // rebuilt only where it is another list: a button that is being pressed stays under the hand
    if (JSON.stringify(rows) === listed) return;
    listed = JSON.stringify(rows);
    show(list, ...rows.map((row, index) => el("li", {}, rowWords(row), " ", button("Take back", () => attempt(fault, () =>
      edit([{ do: "drop", table: "edit", index }])),
      { class: "button quiet small", "aria-label": `Take back: ${rowWords(row)}` }))));
    list.hidden = !rows.length;
  });
  return { node: el("section", { class: "box corrections", "aria-label": "Correct the drawing" },
    el("div", { class: "row apart" }, el("h3", { text: "Correct the drawing" }), hole),
    el("p", { class: "soft",
      text: HOW }),
    el("div", { class: "corrections-row" }, choice, el("div", {}, el("div", { class: "row tight" }, ...alone, split, drop),
      el("div", { class: "row tight" }, ...together))), said, fault, list) };
}

/** @param {any} row @returns {string} */
function rowWords(row) {
  const of = (row.of || []).join(" and ");
  const at = row.at_px ? ` at pixel ${row.at_px.join(", ")}` : row.at ? ` at ${row.at.join(", ")} mm` : "";
  return `${of} ${SAID[row.what] || row.what}${at}`.trim();
}
