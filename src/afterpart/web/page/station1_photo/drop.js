/**
 * Where a photograph comes in: dropped or chosen, sent with its progress in words, measured at once.  What was wrong with it is
 * said right here.
 */
// SPDX-License-Identifier: Apache-2.0
import { sendPhoto, work } from "../api.js";
import { attempt, button, el, newId } from "../dom.js";
import { isBusy, progressBox } from "../progress.js";
import { read, subscribe, write } from "../state.js";

const KINDS = "image/jpeg,image/png,image/tiff,image/heic,image/heif,.jpg,.jpeg,.png,.tif,.tiff,.heic,.heif";
const LARGEST = 80e6;

/** @param {File} file */
function checkFile(file) {
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
  let adds = false;
  const choose = button("Choose a photograph \u2026", () => { adds = false; input.click(); });
  const add = button("Add one more \u2026", () => { adds = true; input.click(); }, { class: "button quiet" });
  const again = button("Measure again", () => attempt(fault, () => work("measure")), { class: "button", id: "measure-again" });

  const take = async (file, asOneMore) => {
    if (!file) return;
    if (!isBusy()) write({ work: null });
    sending.textContent = `Sending ${file.name} (${(file.size / 1e6).toFixed(1)} MB)`;
    await attempt(fault, async () => {
      checkFile(file);
      await sendPhoto(file, asOneMore);
      if (!isBusy() && !read("sheet").work) await work("measure");
    });
    sending.textContent = "";
  };
  input.addEventListener("change", () => { void take(input.files && input.files[0], adds); input.value = ""; });
  const area = /** @type {HTMLElement} */ (el("div", { class: "drop", id: "drop-area", role: "group",
    "aria-label": "Photograph of the part" }, words, el("div", { class: "row" }, choose, add, again, input),
    sending, progressBox(["measure"]), fault));
  for (const kind of ["dragover", "dragenter"]) {
    area.addEventListener(kind, (event) => { event.preventDefault(); area.classList.add("over-it"); });
  }
  area.addEventListener("dragleave", () => area.classList.remove("over-it"));
  area.addEventListener("drop", (event) => {
    event.preventDefault();
    area.classList.remove("over-it");
    void take(event.dataTransfer && event.dataTransfer.files[0], false);
  });
  for (const kind of ["dragover", "drop"]) window.addEventListener(kind, (event) => event.preventDefault());

  subscribe(["sheet", "work"], () => {
    const sheet = read("sheet") || { has_job: false, stations: {}, outdated: [] };
    const has = Boolean(sheet.has_job && sheet.stations.photo);
    area.classList.toggle("large", !has);
    words.textContent = has ? "Drop another photograph here to take the place of this one; the old file stays in the folder."
      : "Drop a photograph of the part here: JPEG, PNG, TIFF or HEIC, a sheet of paper, a rule or a calliper beside the part.";
    choose.textContent = has ? "Choose another \u2026" : "Choose a photograph \u2026";
    add.hidden = !has;
    again.hidden = !has || isBusy();
    again.textContent = sheet.stations.outline ? "Measure again" : "Measure";
    again.className = sheet.outdated.includes("outline") || !sheet.stations.outline ? "button" : "button quiet";
    choose.className = has ? "button quiet" : "button";
  });
  return area;
}
