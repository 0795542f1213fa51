/**
 * The mating part laid on the cover: both outlines in one drawing, how far each hole is off (arrows drawn larger than life), and
 * the table of holes and edges, the worst place first.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit, get, work } from "../api.js";
import { attempt, button, el, labelled, show, svgEl } from "../dom.js";
import { balloonLayer } from "../picture/balloons.js";
import { drawingView } from "../picture/drawing.js";
import { isBusy, progressBox } from "../progress.js";
import { jobRows, read, subscribe } from "../state.js";
import { showLength, unitName } from "../units.js";

const LARGER = 20;
const HEAD = 1.6;
const LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ";
const CAUTION = "The offsets are told where the holes that agree have it, the room where the tightest place has most. Try the "
  + "check plate on the machine before you trust either. A used soft gasket is no gauge.";
const OLD = "This was made before the last change of photographs, drawing or pieces. Lay the mate on the cover again.";

/** @param {number} mm */
function signed(mm) {
  const shown = showLength(Math.abs(mm), 2);
  return Number(shown) === 0 ? shown : `${mm < 0 ? "\u2212" : "+"}${shown}`;
}

/** Keys of the job as the page calls them. @param {string} text */
const spoken = (text) => text.replace("face_height", "the height told at station 1").replace("reference_height",
  "the height of the reference");

/** An arrow in mm, y down. @param {[number, number]} from @param {[number, number]} by */
function arrow([x, y], [dx, dy]) {
  const long = Math.hypot(dx, dy) || 1;
  const [ux, uy] = [dx / long, -dy / long];
  const [ex, ey] = [x + dx, -y - dy];
  const wing = (side) => `${ex - HEAD * (ux + side * uy * 0.6)} ${ey - HEAD * (uy - side * ux * 0.6)}`;
  return `M${x} ${-y}L${ex} ${ey}M${wing(1)}L${ex} ${ey}L${wing(-1)}`;
}

/** @param {any} hole @returns {[string, string]} verdict in words, and its class */
function verdictOf(hole) {
  if (hole.room !== null && hole.room < 0) return ["blocked", "fails"];
  if (hole.moved) return ["moved", "attention"];
  return ["within chance", "passes"];
}

/** The holes as rows. @param {any[]} holes @param {(id: string) => void} choose */
function holeTable(holes, choose) {
  const heads = ["", "Hole", "Mate\u2019s", "Off by x, y", "Away \u00B1 95 %", "Room left of", "Verdict"];
  return el("div", { class: "table-frame" }, el("table", { class: "mate-holes" }, el("caption", { class: "hidden-words",
    text: "Holes, the worst first" }), el("thead", {}, el("tr", {}, ...heads.map((text) => el("th", { scope: "col", text })))),
  el("tbody", {}, ...holes.map((hole, index) => {
    const [word, kind] = verdictOf(hole);
    return el("tr", { "data-hole": hole.cover }, el("td", {}, button(String(index + 1), () => choose(hole.cover),
      { class: "balloon-button", "aria-label": `Hole ${hole.cover}: show it in the drawing` })), el("td", { text: hole.cover }),
    el("td", { text: hole.mate }), el("td", { class: "number", text: `${signed(hole.offset[0])}, ${signed(hole.offset[1])}` }),
    el("td", { class: "number", text: `${showLength(hole.away, 2)} \u00B1 ${showLength(hole.u95, 2)}` }),
    el("td", { class: "number", text: hole.room === null ? "bolt not known"
      : `${showLength(hole.room, 2)} of ${showLength(hole.gap, 2)}` }),
    el("td", {}, el("span", { class: `verdict ${kind}`, text: word })));
  }))));
}

/** The edges as rows. @param {any[]} edges @param {(id: string) => void} choose */
function edgeTable(edges, choose) {
  const heads = ["", "Edge", "Least room \u00B1 95 %", "Most", "Verdict"];
  return el("div", { class: "table-frame" }, el("table", { class: "mate-edges" }, el("caption", { class: "hidden-words",
    text: "Edges, the tightest first" }), el("thead", {}, el("tr", {}, ...heads.map((text) => el("th", { scope: "col", text })))),
  el("tbody", {}, ...edges.map((edge, index) => {
    const clashes = edge.must_clear && edge.least < 0;
    const [word, kind] = clashes ? ["clash", "fails"] : edge.must_clear ? ["clear", "passes"] : ["told only", "not-judged"];
    return el("tr", {}, el("td", {}, button(LETTERS[index], () => choose(LETTERS[index]), { class: "balloon-button",
      "aria-label": `${edge.what}: show it in the drawing` })), el("td", { text: edge.what }), el("td", { class: "number",
      text: `${showLength(edge.least, 2)} \u00B1 ${showLength(edge.u95, 2)}` }), el("td", { class: "number",
      text: showLength(edge.most, 2) }), el("td", {}, el("span", { class: `verdict ${kind}`, text: word })));
  }))));
}

/** What else is to be said. @param {any} match */
function remarks(match) {
  const lone = [["the cover", match.lone_cover], ["the mate", match.lone_mate]].filter(([, ids]) => ids.length)
    .map(([whose, ids]) => `Without a partner, on ${whose}: ${ids.join(", ")}.`);
  const clashes = match.clashes.map((one) => `Clash: ${one.text}, by ${showLength(one.by, 2)} ${unitName()}.`);
  return [...clashes, ...lone, ...match.notes.map((note) => note.text)].map((text) => el("p", { class: "note" },
    el("span", { class: "mark", "aria-hidden": "true", text: "!" }), el("span", { class: "said", text })));
}

/** @returns {HTMLElement} */
export function mateOnCover() {
  const fault = el("p", { class: "fault", role: "alert" });
  const view = drawingView("The mate laid on the cover");
  const cover = svgEl("g", { class: "mate-cover" });
  const laid = svgEl("g", { class: "mate-laid" });
  const arrows = svgEl("g", { class: "mate-arrows" });
  view.layer.append(cover, laid, arrows);
  const choose = (id) => {
    balloons.mark(id);
    const rows = tables.querySelectorAll("[data-hole]");
    for (const row of rows) row.classList.toggle("chosen", row.getAttribute("data-hole") === id);
  };
  const balloons = balloonLayer(view, choose);
  const tables = el("div", {});
  const said = el("div", {});
  const old = el("p", { class: "note" }, el("span", { class: "mark", "aria-hidden": "true", text: "!" }), OLD);
  const way = /** @type {HTMLSelectElement} */ (el("select", { on: { change: () => attempt(fault, () => edit([{ do: "set",
    at: "mate.way", value: way.value }])) } }));
  const wayField = labelled({ label: "The mate was photographed", input: way, hint: " " });
  const lay = button("Lay the mate on the cover", () => attempt(fault, () => work("mate")), { class: "button" });
  const shown = el("div", {}, el("div", { class: "columns mate-columns" }, el("figure", {}, el("figcaption", {}),
    view.node), tables), said);
  const node = /** @type {HTMLElement} */ (el("section", { class: "box mate", "aria-label": "The mate on the cover" },
    el("h3", { text: "The mate on the cover" }), el("div", { class: "row" }, wayField.node, lay), progressBox(["mate"]), fault,
    old, shown, el("p", { class: "hint", text: CAUTION })));

  const update = (told) => {
    const match = told.match;
    show(way, ...Object.keys(told.ways).map((value) => el("option", { value, text: value })));
    way.value = told.way;
    wayField.node.querySelector(".hint").textContent = spoken(told.ways[told.way]);
    lay.textContent = match ? "Lay it on the cover again" : "Lay the mate on the cover";
    lay.className = match && told.fresh ? "button quiet" : "button";
    old.hidden = !match || told.fresh;
    shown.hidden = !match;
    if (!match) return;
    const outline = read("outline");
    show(cover, ...(outline ? outline.paths : []).map(({ d }) => svgEl("path", { d })));
    show(laid, ...match.paths.map(({ d }) => svgEl("path", { d })));
    show(arrows, ...match.holes.filter((hole) => hole.away > 0.005).map((hole) => svgEl("path", {
      class: hole.moved ? "moved-hole" : "", d: arrow(hole.at, hole.offset.map((value) => value * LARGER)) })));
    const against = match.of === "cover" ? "the cover as built" : "the drawing (no cover is built yet)";
    shown.querySelector("figcaption").textContent = "Cover in whole lines, mate in dashes, seen from the cover\u2019s side. "
      + `Arrows: where the mate\u2019s hole lies, ${LARGER} times as far off as it is. Measured against ${against}; lengths in `
      + `${unitName()}.`;
    const down = ([x, y]) => [x, -y];
    const marks = match.edges.map((edge, index) => ({ id: LETTERS[index], number: LETTERS[index], at: down(edge.at) }));
    show(tables, holeTable(match.holes, choose), match.edges.length ? edgeTable(match.edges, choose) : null);
    show(said, ...remarks(match));
    view.refit();
    balloons.set([...match.holes.map((hole, index) => ({ id: hole.cover, number: index + 1, at: down(hole.at) })), ...marks]);
  };
  let last = "";
  subscribe(["sheet", "job", "outline", "work", "unit"], () => {
    const sheet = read("sheet");
    lay.toggleAttribute("disabled", isBusy());
    node.hidden = !sheet || !read("outline") || !jobRows("photo").some((row) => row.shows === "mate");
    const done = read("work") && read("work").what === "mate" ? `${read("work").id} ${read("work").state}` : "";
    const now = node.hidden ? "" : [sheet.stamp, sheet.stations.outline, sheet.stations.pieces, done, read("unit"),
      isBusy()].join(" ");
    if (now === last) return;
    last = now;
    if (now) void attempt(fault, async () => { const told = await get("/api/mate"); if (now === last) update(told); });
  });
  return node;
}
