/**
 * Every photograph on the same drawing: each laid flat as if seen straight from above, one after the other under the same lines,
 * so that the eye sees what moves.  The mate's pictures lie there too, once it was laid on the cover.
 *
 * Keys while the drawing has the hand: comma and full stop step, the space bar shows the one before for as long as it is held.
 */
// SPDX-License-Identifier: Apache-2.0
import { get, getBlobUrl } from "../api.js";
import { attempt, button, el, labelled, show, svgEl } from "../dom.js";
import { drawingView } from "../picture/drawing.js";
import { jobRows, read, subscribe } from "../state.js";

const STRENGTHS = [["1", "whole"], ["0.75", "three quarters"], ["0.5", "half"], ["0.25", "a quarter"]];
const HOW = "Each photograph laid flat on the drawing, as if seen straight from above. What lies in the face stays where it is "
  + "from one to the next; what lies higher or deeper moves.";

/** @param {any} row of the job @returns {string} */
function words(row) {
  const what = row.shows === "mate" ? "what it is bolted to" : row.face === "other" ? "the other face" : "the mating face";
  return `${row.file}, ${what}`;
}

/** Fetched pictures by photograph, given back when they are out of date. */
function shelf() {
  /** @type {Map<number, Promise<{url: string, box: number[]} | null>>} */
  let kept = new Map();
  return {
    /** @param {number} number */
    take(number) {
      if (!kept.has(number)) kept.set(number, fetchLaid(number));
      return kept.get(number);
    },
    clear() {
      for (const each of kept.values()) each.then((found) => found && URL.revokeObjectURL(found.url), () => undefined);
      kept = new Map();
    },
  };
}

/** @param {number} number @returns {Promise<{url: string, box: number[]} | null>} null: it cannot be laid */
async function fetchLaid(number) {
  const { laid } = await get(`/api/photo/${number}`);
  return laid ? { url: await getBlobUrl(`/api/photo/${number}/laid`), box: laid } : null;
}

/** @returns {HTMLElement} */
export function oneDrawing() {
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "word", role: "status" });
  const view = drawingView("The drawing with a photograph laid under it; comma and full stop step, the space bar looks back");
  const under = svgEl("g", { class: "laid" });
  const lines = svgEl("g", { class: "laid-lines" });
  view.layer.append(under, lines);
  const pictures = shelf();
  let number = 1;
  let before = 0;
  let isWanted = false;
  const count = () => jobRows("photo").length;
  const strength = /** @type {HTMLSelectElement} */ (el("select", { on: { change: () => fade() } },
    ...STRENGTHS.map(([value, text]) => el("option", { value, text }))));
  const withLines = /** @type {HTMLInputElement} */ (el("input", { type: "checkbox", checked: true,
    on: { change: () => lines.toggleAttribute("hidden", !withLines.checked) } }));
  const step = (by) => { before = number; number = (number - 1 + by + count()) % count() + 1; void draw(); };
  const back = button("Earlier photograph", () => step(-1), { class: "button quiet small" });
  const on = button("Later photograph", () => step(1), { class: "button quiet small" });
  const look = button("Hold to see the one before", () => undefined, { class: "button quiet small", hidden: true });
  const images = () => under.querySelectorAll("image");
  const fade = (isHeld = false) => {
    const all = images();
    const top = all[all.length - 1];
    if (top) top.setAttribute("opacity", isHeld ? "0" : strength.value);
  };
  const hold = (isHeld) => { look.setAttribute("aria-pressed", String(isHeld)); fade(isHeld); };
  look.addEventListener("pointerdown", () => hold(true));
  for (const end of ["pointerup", "pointerleave", "blur"]) look.addEventListener(end, () => hold(false));
  for (const [node, keys] of [[view.svg, [" "]], [look, [" ", "Enter"]]]) {
    node.addEventListener("keydown", (event) => { if (keys.includes(event.key)) { event.preventDefault(); hold(true); } });
    node.addEventListener("keyup", (event) => { if (keys.includes(event.key)) hold(false); });
  }
  view.svg.addEventListener("keydown", (event) => {
    if (event.key === "," || event.key === ".") { event.preventDefault(); step(event.key === "." ? 1 : -1); }
  });

  const draw = () => attempt(fault, async () => {
    const [wanted, below] = [number, before && before <= count() ? before : 0];
    const row = jobRows("photo")[wanted - 1];
    if (!row) return;
    const name = `${wanted} of ${count()}: ${words(row)}`;
    said.textContent = `${name}. Laying it flat \u2026`;
    const found = await Promise.all([below, wanted].filter(Boolean).map((each) => pictures.take(each)));
    if (wanted !== number) return;
    const top = found[found.length - 1];
    show(under, ...found.filter(Boolean).map(({ url, box: [left, low, right, high] }) => svgEl("image", { href: url, x: left,
      y: -high, width: right - left, height: high - low, preserveAspectRatio: "none" })));
    look.hidden = !(top && found.length > 1 && found[0]);
    const why = row.shows === "mate" ? "Lay it on the cover first (below)." : "It is not in the measurement.";
    said.textContent = top ? name : `${name}. ${why}`;
    fade();
    view.refit();
  });
  const box = /** @type {HTMLDetailsElement} */ (el("details", { class: "folded box one-drawing" },
    el("summary", { text: "Every photograph on this drawing" }), el("p", { class: "hint", text: HOW }),
    el("div", { class: "row" }, back, on, look, labelled({ label: "Its strength over the one before", input: strength }).node,
      el("label", { class: "row tight" }, withLines, "lines of the drawing")), said, view.node, fault));
  box.addEventListener("toggle", () => { isWanted = box.open; if (isWanted) void draw(); });

  let last = "";
  subscribe(["outline", "job", "sheet"], () => {
    const outline = read("outline");
    box.hidden = !outline || count() < 2;
    if (!outline) return;
    show(lines, ...outline.paths.map(({ d, role }) => svgEl("path", { class: role, d })));
    const sheet = read("sheet");
    const now = `${sheet.stations.photo} ${sheet.stations.outline} ${sheet.work ? "" : "idle"} ${count()}`;
    if (now === last) return;
    last = now;
    pictures.clear();
    number = Math.min(number, Math.max(count(), 1));
    before = 0;
    if (isWanted) void draw();
  });
  return box;
}
