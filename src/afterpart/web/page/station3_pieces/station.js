/**
 * Station 3, pieces: what is wanted (forms of the job's tables), building with progress, every piece in three dimensions with
 * its figures and files, the assembly together and apart, the table of filter cuts with the shapes at one scale.
 */
// SPDX-License-Identifier: Apache-2.0
import { get, work } from "../api.js";
import { attempt, button, el, folded, show, tell } from "../dom.js";
import { isBusy, progressBox } from "../progress.js";
import { read, stationState, subscribe, whenStationChanges } from "../state.js";
import { cutTable } from "./cuts.js";
import { figuresOf, pieceWords } from "./figures.js";
import { settings } from "./settings.js";
import { solidView } from "./solid_view.js";

const ASSEMBLY = "assembly";

/** @param {HTMLElement} body */
export function mount(body) {
  const wanted = settings();
  const made = el("div", {});
  const fault = el("p", { class: "fault", role: "alert" });
  const solid = solidView();
  const choices = el("div", { class: "row piece-choices", role: "group", "aria-label": "What is shown" });
  const figures = el("div", { class: "piece-figures" });
  const cuts = el("div", {});
  const notes = el("div", {});
  const shown = el("div", { class: "columns wide-left" }, el("div", {}, choices, solid.node), figures);
  let chosen = "";
  /** @type {any} */
  let told = null;

  const choose = (stem) => {
    chosen = stem;
    const piece = told.pieces.find((one) => one.stem === stem);
    for (const one of choices.querySelectorAll("button")) one.setAttribute("aria-pressed", String(one.dataset.stem === stem));
    show(figures, piece ? figuresOf(piece, told.pieces) : figuresOf.assembly(told));
    void attempt(fault, () => solid.open(stem, piece ? pieceWords(piece, told.pieces) : "The assembly", stem === ASSEMBLY));
  };
  const fill = () => {
    const all = told.pieces.map((piece) => [piece.stem, pieceWords(piece, told.pieces)]);
    if ((told.files || []).includes("assembly.glb")) all.unshift([ASSEMBLY, "All together"]);
    show(choices, ...all.map(([stem, name]) => button(name, () => choose(stem), { class: "button quiet", "data-stem": stem,
      "aria-pressed": "false" })));
    show(cuts, cutTable(told));
    show(notes, told.notes.length ? folded(`What the build says of the whole (${told.notes.length})`,
      el("ul", {}, ...told.notes.map((note) => el("li", { text: note.text || note })))) : null);
    if (all.length) choose(all.some(([stem]) => stem === chosen) ? chosen : all[0][0]);
  };

  show(body, wanted, buildBar(), fault, made);
  whenStationChanges("pieces", async (stamp) => {
    if (stamp === null) {
      show(made, el("p", { class: "word", text: "The pieces appear here once they are built." }));
      return;
    }
    await attempt(fault, async () => {
      told = await get("/api/pieces");
      show(made, shown, cuts, notes);
      fill();
    });
  });
  subscribe(["unit"], () => { if (told && chosen) fill(); });
}

/** The button that builds, and what must be known before it is pressed. */
function buildBar() {
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "hint" });
  const press = /** @type {HTMLButtonElement} */ (button("Build the pieces", () => attempt(fault, () => work("build"))));
  subscribe(["sheet", "work"], () => {
    const state = stationState("pieces");
    const sheet = read("sheet");
    press.disabled = isBusy() || !sheet || !sheet.has_job;
    press.textContent = state === "none" ? "Build the pieces" : "Build again";
    said.textContent = !sheet || !sheet.has_job ? "A photograph comes first (station 1)."
      : state === "outdated" ? "The job has changed since these pieces were built." : "";
    said.classList.toggle("late", state === "outdated");
    tell(fault, null);
  });
  return el("div", { class: "build-bar" }, el("div", { class: "row" }, press, said), progressBox(["build"]), fault);
}
