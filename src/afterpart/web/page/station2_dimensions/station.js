/**
 * Station 2, dimensions: the photograph and the clean drawing side by side with the same numbered balloons, the inspection table
 * to type readings and design values into, what to measure next, what contradicts, corrections of the drawing, the heights.
 */
// SPDX-License-Identifier: Apache-2.0
import { get } from "../api.js";
import { el, labelled, show, tell } from "../dom.js";
import { balloonLayer } from "../picture/balloons.js";
import { drawingView } from "../picture/drawing.js";
import { polyline, segmentLayer } from "../picture/segments.js";
import { boundsOf, photoViewer } from "../picture/viewer.js";
import { isBusy, progressBox } from "../progress.js";
import { read, subscribe, whenStationChanges, write } from "../state.js";
import { corrections } from "./corrections.js";
import { heightsCard } from "./heights.js";
import { mateOnCover } from "./mate.js";
import { nextReadings } from "./next_reading.js";
import { noteList } from "./notes.js";
import { oneDrawing } from "./one_drawing.js";
import { valueWords } from "./row_words.js";
import { inspectionTable } from "./table.js";

const SMALL = "(max-width: 56rem), (max-height: 30rem)";
const NOTHING_YET = "The drawing appears here as soon as the photograph has been measured.";

/** @param {string} id @param {boolean} more */
function pickSegment(id, more) {
  const before = read("picked") || [];
  const now = more ? [...before.filter((each) => each !== id), id] : [id];
  write({ picked: before.length === 1 && before[0] === id && !more ? [] : now });
}

/** The two pictures with segments and balloons. */
function pictures() {
  const photo = photoViewer("The photograph with the outline found");
  const drawing = drawingView("The clean drawing");
  const choose = (id) => write({ selected: read("selected") === id ? null : id, lookInTable: true });
  const layers = [photo, drawing].map((view) => ({ segments: segmentLayer(view.layer, pickSegment), balloons: balloonLayer(
    view, choose) }));
  const which = /** @type {HTMLSelectElement} */ (el("select", {}, el("option", { value: "all", text: "all" }),
    el("option", { value: "open", text: "not settled yet" }), el("option", { value: "chosen", text: "the chosen one only" })));
  if (window.matchMedia(SMALL).matches) which.value = "open";
  const shown = (outline) => {
    const open = new Set(outline.rows.filter((row) => row.state === "free" || (row.state === "inferred"
      && row.probability < 0.75)).map((row) => row.id));
    for (const next of outline.next) open.add(next.id);
    return (balloon) => which.value === "all" || balloon.id === read("selected") || (which.value === "open"
      && open.has(balloon.id));
  };
  let wasPhoto = "";
  const fillPhoto = () => {
    const source = read("photo");
    const outline = read("outline");
    if (!source || !source.info || !outline) return;
    const found = source.info.found;
    if (source.url !== wasPhoto && found.segments.length) { wasPhoto = source.url; photo.open(source.url,
      boundsOf(found.segments.map((each) => each.px))); }
    layers[0].segments.set(found.segments.map((each) => ({ ...each, d: polyline(each.px) })));
    layers[0].balloons.set(found.balloons.map(({ id, number, px }) => ({ id, number, at: px })).filter(shown(outline)));
  };
  const fillDrawing = () => {
    const outline = read("outline");
    if (!outline) return;
    layers[1].segments.set(outline.paths.map((path) => ({ id: path.segment, role: path.role, free: path.free, d: path.d })));
    drawing.refit();
    layers[1].balloons.set(outline.balloons.map(({ id, number, at: [x, y] }) => ({ id, number, at: [x, -y] })).filter(
      shown(outline)));
  };
  const markAll = () => {
    const outline = read("outline");
    const row = outline && outline.rows.find((each) => each.id === read("selected"));
    for (const layer of layers) {
      layer.segments.mark(row ? row.of : [], read("picked") || []);
      layer.balloons.mark(read("selected") || "");
    }
  };
  const refill = () => { fillPhoto(); fillDrawing(); markAll(); };
  which.addEventListener("change", refill);
  subscribe(["photo"], () => { fillPhoto(); markAll(); });
  subscribe(["outline"], refill);
  subscribe(["selected"], () => { if (which.value !== "all") refill(); else markAll(); });
  subscribe(["picked"], markAll);
  const field = labelled({ label: "Balloons", input: which });
  field.node.classList.add("in-line");
  drawing.tools.append(field.node);
  return { photo, drawing, node: el("div", { class: "columns pictures" }, el("figure", {}, el("figcaption",
    { text: "As photographed" }), photo.node),
    el("figure", {}, el("figcaption", { text: "As designed, true to scale" }), drawing.node)) };
}

/** What the last edit changed, in one line. @param {any} outline @returns {string} */
function movedLine(outline) {
  const moved = outline.moved || [];
  if (!outline.moved) return "";
  if (!moved.length) return "Solved again: no design value moved.";
  const rows = new Map(outline.rows.map((row) => [row.id, row]));
  const words = moved.slice(0, 6).map((each) => {
    const row = rows.get(each.id) || { kind: "length" };
    return `number ${each.number} from ${valueWords(row, each.from)} to ${valueWords(row, each.to)}`;
  });
  return `Solved again. Moved: ${words.join("; ")}${moved.length > 6 ? `; and ${moved.length - 6} more` : ""}.`;
}

/** @param {HTMLElement} body */
export function mount(body) {
  const table = inspectionTable();
  const views = pictures();
  const notes = noteList();
  const heights = heightsCard();
  const fault = el("p", { class: "fault", role: "alert" });
  const empty = el("p", { class: "word soft", text: NOTHING_YET });
  const outdated = el("p", { class: "note" }, el("span", { class: "mark", "aria-hidden": "true", text: "!" }),
    "What was told about the photograph has changed since. Measure again at station 1.");
  const movedNow = el("p", { class: "word moved-line", role: "status" });
  const next = nextReadings((id) => {
    const input = table.node.querySelector(`tr[data-id="${CSS.escape(id)}"] input`);
    if (input instanceof HTMLElement) { input.scrollIntoView({ block: "center" }); input.focus({ preventScroll: true }); }
  });
  const full = el("div", { class: "full" }, outdated, notes.node, views.node, oneDrawing(), corrections(views).node,
    next.node, movedNow,
    table.node, heights.node, mateOnCover());
  full.hidden = true;
  show(body, progressBox(["measure"]), fault, empty, full);

  whenStationChanges("outline", async (stamp) => {
    if (!stamp) { write({ outline: null }); return; }
    const known = read("outline");
    try {
      const outline = await get("/api/outline");
      if (read("sheet").stations.outline !== stamp && known) return;
      if (!outline) { write({ outline: null }); return; }
      const same = known && JSON.stringify(known.rows) === JSON.stringify(outline.rows);
      write({ outline: same ? { ...outline, moved: known.moved } : outline });
      tell(fault, null);
    } catch (error) { tell(fault, error); }
  });
  subscribe(["outline", "unit"], () => {
    const outline = read("outline");
    full.hidden = !outline;
    empty.hidden = Boolean(outline);
    if (!outline) return;
    table.update(outline);
    notes.update(outline.notes);
    next.update(outline);
    heights.update(outline.heights);
    movedNow.textContent = movedLine(outline);
  });
  subscribe(["sheet"], () => { outdated.hidden = !(read("sheet") || { outdated: [] }).outdated.includes("outline") || isBusy();
    });
  subscribe(["selected"], () => {
    table.choose(read("selected"), Boolean(read("lookInTable")));
    if (read("lookInTable")) write({ lookInTable: false });
  });
}
