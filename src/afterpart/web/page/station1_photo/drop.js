/**
 * Where a photograph comes in: dropped or chosen, sent with its progress in words, measured at once.  What was wrong with it is
 * said right here.
 */
// SPDX-License-Identifier: Apache-2.0
import { sendPhoto, work } from "../api.js";
import { attempt, button, el, newId } from "../dom.js";
import { isBusy, progressBox } from "../progress.js";
import { read, subscribe, write } from "../state.js";

export const KINDS = "image/jpeg,image/png,image/tiff,image/heic,image/heif,.jpg,.jpeg,.png,.tif,.tiff,.heic,.heif";
const LARGEST = 80e6;

/** Raises what the maker should read. @param {File} file */
export function checkFile(file) {
  if (file.size > LARGEST) {
    throw Object.assign(new Error(`${file.name} has ${(file.size / 1e6).toFixed(0)} MB, at most 80 MB are taken.`),
      { wayOut: "Take the phone's own JPEG or HEIC file." });
  }
  if (!file.size) throw Object.assign(new Error(`${file.name} is empty.`), { wayOut: "Copy it from the phone again." });
}

/** @returns {HTMLElement} the drop area */
export function dropArea() {
  const fault = el("p", { class: "fault", role: "alert" });
  const sending = el("p", { class: "word runs", role: "status" });
  const words = el("p", { class: "drop-words" });
  const input = /** @type {HTMLInputElement} */ (el("input", { type: "file", accept: KINDS, id: newId("photo"),
    class: "hidden-words", tabindex: "-1", "aria-hidden": "true" }));
  const choose = button("Choose a photograph \u2026", () => input.click());
  const again = button("Measure again", () => attempt(fault, () => work("measure")), { class: "button", id: "measure-again" });

  const take = async (file) => {
    if (!file) return;
    if (!isBusy()) write({ work: null });
    sending.textContent = `Sending ${file.name} (${(file.size / 1e6).toFixed(1)} MB)`;
    await attempt(fault, async () => {
      checkFile(file);
      await sendPhoto(file);
      write({ photoNumber: 1 });
      if (!isBusy() && !read("sheet").work) await work("measure");
    });
    sending.textContent = "";
  };
  input.addEventListener("change", () => { void take(input.files && input.files[0]); input.value = ""; });
  const area = /** @type {HTMLElement} */ (el("div", { class: "drop", id: "drop-area", role: "group",
    "aria-label": "Photograph of the part" }, words, el("div", { class: "row" }, choose, again, input),
    sending, progressBox(["measure"]), fault));
  for (const kind of ["dragover", "dragenter"]) {
    area.addEventListener(kind, (event) => { event.preventDefault(); area.classList.add("over-it"); });
  }
  area.addEventListener("dragleave", () => area.classList.remove("over-it"));
  area.addEventListener("drop", (event) => {
    event.preventDefault();
    area.classList.remove("over-it");
    void take(event.dataTransfer && event.dataTransfer.files[0]);
  });
  for (const kind of ["dragover", "drop"]) window.addEventListener(kind, (event) => event.preventDefault());

  subscribe(["sheet", "work"], () => {
    const sheet = read("sheet") || { has_job: false, stations: {}, outdated: [] };
    const has = Boolean(sheet.has_job && sheet.stations.photo);
    area.classList.toggle("large", !has);
    words.textContent = has ? "Drop a better photograph here to take the place of the first; the old file stays in the folder."
      : "Drop a photograph of the part here: JPEG, PNG, TIFF or HEIC, a sheet of paper, a rule or a calliper beside the part.";
    choose.textContent = has ? "Choose a better one \u2026" : "Choose a photograph \u2026";
    again.hidden = !has || isBusy();
    again.textContent = sheet.stations.outline ? "Measure again" : "Measure";
    again.className = sheet.outdated.includes("outline") || !sheet.stations.outline ? "button" : "button quiet";
    choose.className = has ? "button quiet" : "button";
  });
  return area;
}
