/**
 * The head of the sheet: what the part is, its revision, how far the job is, and the two switches (unit, light or dark).
 */
// SPDX-License-Identifier: Apache-2.0
import { el, button, show, attempt } from "./dom.js";
import { redo, undo } from "./api.js";
import { read, stationState, subscribe } from "./state.js";
import { setUnit } from "./units.js";

const THEME_NAME = "afterpart-light";
const STAGES = [["photo", "photo", "Photo"], ["dimensions", "outline", "Dimensions"], ["pieces", "pieces", "Pieces"],
  ["findings", "findings", "Findings"], ["release", "release", "Release"]];
const ANEW = "The program was started anew, and this tab has the key of its earlier run. Nothing that was entered is lost: open "
  + "the page from the address it shows now.";
const STATE_WORDS = { none: "to do", made: "done", outdated: "out of date" };

/** Takes up the choice of light or dark made last time; without one the system's choice holds. */
export function takeTheme() {
  const kept = window.localStorage.getItem(THEME_NAME);
  if (kept) document.documentElement.dataset.light = kept;
}

function isDark() {
  const chosen = document.documentElement.dataset.light;
  return chosen ? chosen === "dark" : window.matchMedia("(prefers-color-scheme: dark)").matches;
}

function turnLight() {
  const next = isDark() ? "light" : "dark";
  document.documentElement.dataset.light = next;
  window.localStorage.setItem(THEME_NAME, next);
}

/** @param {string} label @param {string | Node} value @param {string} kind */
function cell(label, value, kind = "") {
  return el("div", { class: `cell ${kind}` }, el("span", { class: "cell-label", text: label }),
    typeof value === "string" ? el("span", { class: "cell-value", text: value }) : value);
}

/** @param {[string, string, string]} stage @param {number} index */
function stageLink([id, key, name], index) {
  const state = stationState(key);
  return el("li", { class: `stage ${state}` }, el("a", { href: `#${id}` },
    el("span", { class: "stage-number", "aria-hidden": "true", text: String(index + 1) }),
    el("span", { class: "stage-name", text: name }), el("span", { class: "stage-state", text: STATE_WORDS[state] })));
}

/** @param {Element} head */
export function titleBlock(head) {
  const fault = el("p", { class: "fault", role: "alert" });
  const cells = el("div", { class: "cells" });
  const stages = el("nav", { "aria-label": "Stations of the sheet" });
  const back = button("Undo", () => attempt(fault, undo), { class: "button quiet", title: "Ctrl+Z" });
  const again = button("Redo", () => attempt(fault, redo), { class: "button quiet", title: "Ctrl+Shift+Z" });
  const unit = button("", () => setUnit(read("unit") === "mm" ? "inch" : "mm"), { class: "button quiet", id: "unit-switch" });
  const light = button("", () => { turnLight(); labelLight(); }, { class: "button quiet", id: "light-switch" });
  const labelLight = () => { light.textContent = isDark() ? "Light paper" : "Dark paper"; };
  labelLight();
  const state = el("div", { class: "sheet-state", role: "status" });
  show(head, el("h1", { class: "hidden-words", text: "Job sheet" }), cells,
    el("div", { class: "head-tools" }, back, again, unit, light), stages, state, fault);
  subscribe(["unit"], () => { unit.textContent = read("unit") === "mm" ? "Show inches" : "Show millimetres"; });
  subscribe(["sheet", "connected", "refused"], () => fillHead(cells, stages, state, back, again));
  document.addEventListener("keydown", (event) => onKeys(event, fault));
}

/** @param {Element} cells @param {Element} stages @param {Element} state @param {Element} back @param {Element} again */
function fillHead(cells, stages, state, back, again) {
  const sheet = read("sheet");
  const has = Boolean(sheet && sheet.has_job);
  document.title = has ? `${sheet.name || sheet.folder}: job sheet` : "Job sheet";
  show(cells, cell("Part", has ? sheet.name || sheet.folder : "no job yet", "wide"), cell("Rev.", has ? sheet.revision : "–"),
    cell("Date", (has && sheet.date) || "–"), cell("Folder", (sheet && sheet.folder) || "–", "folder"));
  show(stages, el("ol", { class: "stages" }, ...STAGES.map((stage, index) => stageLink(stage, index))));
  back.toggleAttribute("disabled", !(sheet && sheet.undo));
  again.toggleAttribute("disabled", !(sheet && sheet.redo));
  const lines = (sheet ? sheet.problems : []).map((problem) => el("p", { class: "fault" },
    el("span", { class: "mark", "aria-hidden": "true", text: "!" }),
    `job.toml cannot be used as it is: ${problem.message}${problem.where ? ` (${problem.where})` : ""}`));
  if (read("refused")) {
    lines.push(el("p", { class: "fault" }, el("span", { class: "mark", "aria-hidden": "true", text: "!" }), ANEW));
  } else if (!read("connected")) {
    lines.push(el("p", { class: "fault" }, el("span", { class: "mark", "aria-hidden": "true", text: "!" }),
      "The program on this machine does not answer. Nothing that was entered is lost; start it again with afterpart open."));
  }
  show(state, ...lines);
}

/** @param {KeyboardEvent} event @param {Element} fault */
function onKeys(event, fault) {
  const at = event.target;
  const isField = at instanceof HTMLInputElement || at instanceof HTMLTextAreaElement;
  // in a field where something is being typed the keys belong to the browser
  const types = isField && !["checkbox", "radio"].includes(at.type) && at.value !== at.dataset.kept;
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || types) return;
  event.preventDefault();
  void attempt(fault, event.shiftKey ? redo : undo);
}
