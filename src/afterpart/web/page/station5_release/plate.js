/**
 * The check plate: the outline as a thin print, to try on the machine before the real thing is made.
 */
// SPDX-License-Identifier: Apache-2.0
import { download, get, work } from "../api.js";
import { attempt, button, el, show } from "../dom.js";
import { isBusy, progressBox } from "../progress.js";
import { read, subscribe } from "../state.js";

const TAKEN = [".3mf", ".stl", ".step", ".pdf"];

export function plateBox() {
  const fault = el("p", { class: "fault", role: "alert" });
  const files = el("div", { class: "row" });
  const press = /** @type {HTMLButtonElement} */ (button("Make the check plate", () => attempt(fault, () => work("plate")),
    { class: "button quiet" }));
  const list = (names) => show(files, ...names.filter((name) => TAKEN.some((ending) => name.endsWith(ending))).map((name) =>
    button(name, () => attempt(fault, () => download(`/api/file/plate/${encodeURIComponent(name)}`, name)),
      { class: "button quiet small" })));
  let seen = "";
  subscribe(["sheet", "work"], () => {
    const sheet = read("sheet");
    const now = read("work");
    press.disabled = isBusy() || !sheet || !sheet.stations.outline;
    if (now && now.what === "plate" && now.state === "done" && now.result && now.id !== seen) {
      seen = now.id;
      list(now.result.files);
    }
  });
  void (async () => {
    const sheet = read("sheet");
    if (!sheet || !sheet.stations.pieces) return;
    const told = await attempt(fault, () => get("/api/pieces"));
    if (told && told.plate) list(told.plate);
  })();
  return el("section", { class: "box" }, el("h3", { text: "Check plate" }),
    el("p", { class: "hint",
      text: "Print it first: half an hour of plastic says whether the holes and the edge meet the machine." }),
    el("div", { class: "row" }, press), progressBox(["plate"]), files, fault);
}
