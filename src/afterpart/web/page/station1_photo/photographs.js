/**
 * The photographs of the job: which one is looked at, what each shows, in which order they stand; one more, and one away.
 *
 * The drawing is that of the first photograph's face; a photograph of the mate cannot be the first.  Rows of the job that name a
 * photograph by its number follow when the order changes (the program sees to it).
 */
// SPDX-License-Identifier: Apache-2.0
import { edit, sendPhoto, work } from "../api.js";
import { attempt, button, el, newId, show } from "../dom.js";
import { isBusy } from "../progress.js";
import { jobRows, read, subscribe, write } from "../state.js";
import { KINDS, checkFile } from "./drop.js";

/** What a photograph shows, in one choice: shows and face of the job. */
const SHOWN = [["mating", "part, mating face"], ["other", "part, other face"], ["mate", "what it is bolted to"]];
const HOW = "The mating face is the one that meets the machine. More looks tell more: leave part and sheet as they lie, go round "
  + "with the phone and take it from another side; turn the part over for its other face; photograph the face it is bolted to. "
  + "The drawing shows the first one\u2019s face.";

/** @param {any} row @returns {string} */
const shownOf = (row) => (row.shows === "mate" ? "mate" : row.face || "mating");

/** Keys of the job for what was chosen. @param {string} value */
const rowOf = (value) => ({ shows: value === "mate" ? "mate" : null, face: value === "other" ? "other" : null });

/** @param {string} label @param {string} value @param {(value: string) => void} choose */
function choice(label, value, choose) {
  const list = /** @type {HTMLSelectElement} */ (el("select", { "aria-label": label, on: { change: () => choose(list.value) } },
    ...SHOWN.map(([key, text]) => el("option", { value: key, text }))));
  list.value = value;
  return list;
}

/** What the last measurement made of a photograph. @param {any} row @returns {string} */
function outcome(row) {
  const outline = read("outline");
  const used = outline && (outline.outline.photos || []).find((each) => each.file === row.file);
  if (row.shows === "mate") return "laid on the cover at station 2";
  if (!used) return "";
  return used.share ? `counts ${Math.round(used.share * 100)} % in its face, edges within ${used.rms.toFixed(3)} mm`
    : `left out: ${used.contradicts}`;
}

/**
 * @param {any} row @param {number} index @param {number} count @param {Element} fault
 * @param {(number: number) => void} replace
 */
function photoRow(row, index, count, fault, replace) {
  const number = index + 1;
  const send = (edits, then) => attempt(fault, async () => { await edit(edits); if (then) write({ photoNumber: then }); });
  const move = (to) => send([{ do: "move", table: "photo", index, to }], to + 1);
  const small = (text, act, label, hidden) => button(text, act, { class: "button quiet small", "aria-label":
    `${label}: ${row.file}`, disabled: hidden });
  return el("tr", { "data-file": row.file },
    el("td", { class: "number" }, button(String(number), () => write({ photoNumber: number }), { class: "balloon-button",
      "aria-label": `Look at photograph ${number}, ${row.file}`, "aria-pressed": String(number === read("photoNumber")) })),
    el("td", { class: "file", text: row.file }),
    el("td", {}, choice(`What ${row.file} shows`, shownOf(row), (value) => send([{ do: "change", table: "photo", index,
      row: rowOf(value) }]))),
    el("td", { class: "soft", text: outcome(row) }),
    el("td", {}, el("div", { class: "row tight" }, small("Earlier", () => move(index - 1), "Earlier in the order", index === 0),
      small("Later", () => move(index + 1), "Later in the order", number === count),
      small("Replace \u2026", () => replace(number), "Replace this photograph", false),
      small("Take out", () => send([{ do: "drop", table: "photo", index }], Math.max(1, Math.min(read("photoNumber"),
        count - 1))), "Take out of the job", count < 2))));
}

/** One button a photograph, above the picture, when there are several. @returns {HTMLElement} */
export function photoButtons() {
  const node = /** @type {HTMLElement} */ (el("div", { class: "row tight", role: "group",
    "aria-label": "Photograph to look at" }));
  subscribe(["job", "photoNumber"], () => {
    const rows = jobRows("photo");
    node.hidden = rows.length < 2;
    show(node, ...rows.map((row, index) => button(`${index + 1}  ${row.file}`, () => write({ photoNumber: index + 1 }),
      { class: "button quiet small", "aria-pressed": String(index + 1 === read("photoNumber")) })));
  });
  return node;
}

/** @returns {HTMLElement} */
export function photographs() {
  const fault = el("p", { class: "fault", role: "alert" });
  const sending = el("p", { class: "word runs", role: "status" });
  const rows = el("tbody");
  const head = ["", "File", "It shows", "In the last measurement", ""];
  const table = el("div", { class: "table-frame" }, el("table", { class: "photographs" }, el("thead", {}, el("tr", {},
    ...head.map((text) => el("th", { scope: "col", text })))), rows));
  const input = /** @type {HTMLInputElement} */ (el("input", { type: "file", accept: KINDS, multiple: true, id: newId("more"),
    class: "hidden-words", tabindex: "-1", "aria-hidden": "true" }));
  const kind = choice("One more photograph shows", "mating", () => undefined);
  const take = (files) => attempt(fault, async () => {
    for (const file of files) {
      sending.textContent = `Sending ${file.name} (${(file.size / 1e6).toFixed(1)} MB)`;
      checkFile(file);
      const [shows, face] = { mating: ["part", "mating"], other: ["part", "other"], mate: ["mate", "mating"] }[kind.value];
      await sendPhoto(file, { shows, face });
      write({ photoNumber: read("sheet").photos });
    }
    // a mate has no part in the drawing, and its height must be told first
    if (kind.value !== "mate" && files.length && !isBusy()) await work("measure");
  }).finally(() => { sending.textContent = ""; });
  input.addEventListener("change", () => { void take([...(input.files || [])]); input.value = ""; });
  const better = /** @type {HTMLInputElement} */ (el("input", { type: "file", accept: KINDS, class: "hidden-words",
    tabindex: "-1", "aria-hidden": "true", "data-for": "replacing" }));
  const written = el("p", { class: "word written", role: "status" });
  let replaced = 1;
  const replace = (number) => { replaced = number; better.click(); };
  const exchange = (file) => attempt(fault, async () => {
    const before = jobRows("photo")[replaced - 1] || { file: "" };
    show(written);
    sending.textContent = `Sending ${file.name} (${(file.size / 1e6).toFixed(1)} MB)`;
    checkFile(file);
    await sendPhoto(file, { number: replaced });
    write({ photoNumber: replaced });
    show(written, `Photograph ${replaced} is now ${file.name}. ${before.file} stays in the folder; places picked in its pixels `
      + "went with it. Undo brings both back.");
    if (before.shows !== "mate" && !isBusy()) await work("measure");
  }).finally(() => { sending.textContent = ""; });
  better.addEventListener("change", () => {
    if (better.files && better.files[0]) void exchange(better.files[0]);
    better.value = "";
  });
  const node = /** @type {HTMLElement} */ (el("section", { class: "box more-photographs", "aria-label": "All photographs" },
    el("h3", { text: "Photographs of this job" }), table, el("div", { class: "row" },
      el("span", { text: "One more, of" }), kind, button("Choose it \u2026", () => input.click(), { class: "button quiet",
        "aria-label": "Choose one more photograph" }), el("span", { class: "soft", text: "or drop it on this box" }),
      input, better),
    sending, written, fault, el("p", { class: "hint", text: HOW })));
  for (const event of ["dragover", "dragenter"]) node.addEventListener(event, (each) => { each.preventDefault();
    node.classList.add("over-it"); });
  node.addEventListener("dragleave", () => node.classList.remove("over-it"));
  node.addEventListener("drop", (event) => {
    event.preventDefault();
    node.classList.remove("over-it");
    void take([...(event.dataTransfer ? event.dataTransfer.files : [])]);
  });

  subscribe(["job", "photoNumber", "outline"], () => {
    const photos = jobRows("photo");
    // one that has just come stands in the sheet before it stands in the job as it is read here
    const count = Math.max(photos.length, (read("sheet") || { photos: 0 }).photos);
    if (count && (read("photoNumber") || 1) > count) { write({ photoNumber: count }); return; }
    const had = rows.contains(document.activeElement) ? document.activeElement.getAttribute("aria-label") : null;
    show(rows, ...photos.map((row, index) => photoRow(row, index, photos.length, fault, replace)));
    // the hand stays on the control it used, in whatever row that stands now
    const again = had && [...rows.querySelectorAll("[aria-label]")].find((each) => each.getAttribute("aria-label") === had);
    if (again instanceof HTMLElement) again.focus({ preventScroll: true });
  });
  return node;
}
