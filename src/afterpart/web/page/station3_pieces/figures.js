/**
 * One piece in figures: size, mass, time, material, what to heed, and the files to take.
 */
// SPDX-License-Identifier: Apache-2.0
import { download } from "../api.js";
import { attempt, button, el, folded, tell } from "../dom.js";
import { capital } from "../fields.js";
import { read } from "../state.js";
import { lengthWords, shortLength, unitName } from "../units.js";

const KINDS = { step: "solid model, for changing", "3mf": "for the slicer, with its unit", stl: "for the slicer, in mm",
  glb: "for looking at", dxf: "outline for cutting", pdf: "paper at true scale", png: "picture", svg: "drawing",
    json: "as data" };
const ORDER = ["3mf", "stl", "step", "dxf", "pdf", "svg", "glb", "png", "json"];

/** @param {string} name */
const endingOf = (name) => name.slice(name.lastIndexOf(".") + 1).toLowerCase();

/**
 * A piece's name as short as it is clear: without that of the part.
 * @param {{spoken?: string, name: string}} piece @param {{name: string}[]} all the pieces, to tell it from them
 */
export function pieceWords(piece, all) {
  const isAlone = all.filter((one) => one.name === piece.name).length === 1;
  const full = isAlone ? piece.name : piece.spoken || piece.name;
  const part = `${(read("sheet") || {}).name} `;
  return full.startsWith(part) && full.length > part.length ? capital(full.slice(part.length)) : capital(full);
}

/** @param {string} label @param {string | null} value */
function line(label, value) {
  return value ? el("tr", {}, el("th", { scope: "row", text: label }), el("td", { text: value })) : null;
}

/** @param {number} hours */
function timeWords(hours) {
  const minutes = Math.round(hours * 60);
  return minutes < 90 ? `about ${Math.max(5, Math.round(minutes / 5) * 5)} min` : `about ${(minutes / 60).toFixed(1)} h`;
}

/** @param {any} size as [x, y, z] in mm */
function sizeWords(size) {
  return Array.isArray(size) ? `${size.map((one) => shortLength(Math.round(one * 100) / 100)).join(" x ")} ${unitName()}` : null;
}

/** @param {any} piece of GET /api/pieces @param {any[]} all the pieces */
export function figuresOf(piece, all) {
  const rows = [line("Size", sizeWords(piece.size)), line("Thickness", piece.thickness ? lengthWords(piece.thickness, 1) : null),
    line("Material", piece.material || null), line("Mass", piece.mass_g ? `${piece.mass_g.toFixed(0)} g` : "not known"),
    line("Printing", piece.print_time_h ? timeWords(piece.print_time_h) : null),
    line("On the bed", piece.orientation || null)].filter(Boolean);
  return el("div", {}, el("h3", { text: pieceWords(piece, all) }),
    el("div", { class: "table-frame" }, el("table", { class: "figures" }, el("tbody", {}, ...rows))),
    piece.notes.length ? folded(`What to heed (${piece.notes.length})`, el("ul", {}, ...piece.notes.map((note) =>
      el("li", { text: note.text || note })))) : null,
    files(piece.files));
}

/**
 * Every piece on one line, and what making them takes; of pieces to choose from (a frame in four pilot sizes) only the one that
 * has its place counts.
 * @param {any[]} pieces @param {{piece: string}[]} places
 */
function totals(pieces, places) {
  const placed = new Set(places.map((place) => place.piece));
  const takers = pieces.filter((piece) => placed.has(piece.stem)
    || !pieces.some((other) => other !== piece && other.kind === piece.kind && placed.has(other.stem)));
  const sum = (key) => takers.reduce((total, piece) => total + (piece[key] || 0), 0);
  const words = takers.length < pieces.length ? "All, one of each kind" : "All";
  const row = (tag, name, material, mass, hours) => el("tr", {}, el("th", { scope: "row", text: name }), el(tag,
    { text: material }),
    el(tag, { class: "number", text: mass ? `${mass.toFixed(0)} g` : "" }), el(tag, { class: "number", text: hours
      ? timeWords(hours) : "" }));
  return el("div", { class: "table-frame" }, el("table", {}, el("thead", {}, el("tr", {}, el("th", { scope: "col",
    text: "Made" }),
    el("th", { scope: "col", text: "From" }), el("th", { scope: "col", class: "number", text: "Mass" }),
    el("th", { scope: "col", class: "number", text: "Printing" }))), el("tbody", {},
    ...pieces.map((piece) => row("td", pieceWords(piece, pieces), piece.material, piece.mass_g, piece.print_time_h)),
    row("td", words, "", sum("mass_g"), sum("print_time_h")))));
}

/** The assembly as figures: what is made, what is bought, and its own files. @param {any} told GET /api/pieces */
figuresOf.assembly = (told) => el("div", {}, el("h3", { text: "All together" }), totals(told.pieces, told.places || []),
  told.bought.length ? el("div", { class: "table-frame" }, el("table", {}, el("thead", {}, el("tr", {},
    el("th", { scope: "col", text: "Bought" }), el("th", { scope: "col", class: "number", text: "Count" }))),
  el("tbody", {}, ...told.bought.map((item) => el("tr", {}, el("td", { text: item.name || item }),
    el("td", { class: "number", text: item.count === undefined ? "" : String(item.count) })))))) : null,
  files((told.files || []).filter((name) => /^(assembly|exploded|filter_cuts)\./.test(name))));

/** @param {(string | {name: string, size?: number})[]} names */
function files(names) {
  const fault = el("p", { class: "fault", role: "alert" });
  const listed = names.map((file) => (typeof file === "string" ? file : file.name)).filter((name) => name !== "pieces.json")
    .sort((a, b) => (ORDER.indexOf(endingOf(a)) + 99) % 99 - (ORDER.indexOf(endingOf(b)) + 99) % 99);
  return el("div", {}, el("h3", { class: "minor", text: "Files to take" }), el("ul", { class: "files" },
    ...listed.map((name) => el("li", {},
    button(name, () => attempt(fault, () => download(`/api/file/pieces/${encodeURIComponent(name)}`, name)),
      { class: "button quiet small" }),
    el("span", { class: "soft", text: ` ${KINDS[endingOf(name)] || ""}` })))), tell(fault, null));
}
