/**
 * A comparison as a table: figures down, variants across, the best of each line marked by a star and a word, a weight for each
 * figure; below it the score, who is best under these weights, and at which weight that changes.
 */
// SPDX-License-Identifier: Apache-2.0
import { button, el, show } from "../dom.js";

const DIGITS = 4;
const HOW = "A weight says how much a figure counts for you: 0 leaves it out, 2 counts twice. Scores run from 0, the worst of "
  + "these jobs, to 1, the best: they say who is better among these, not who is good.";

/** @param {string} name */
const spoken = (name) => name.replaceAll("_", " ");

/** @param {number | null} value */
const numberWords = (value) => (value === null ? "not known" : String(Number(value.toPrecision(DIGITS))));

/**
 * The table as node; score shows an answer under other weights: only what weights change is drawn anew, so that the field one
 * is typing in stays.
 * @param {any} found GET result of comparing @param {(weights: Record<string, number>) => Promise<any>} reweigh
 */
export function weighedTable(found, reweigh) {
  const inputs = new Map();
  const weights = () => Object.fromEntries([...inputs].map(([figure, input]) => [figure, Number(input.value || 0)]));
  const head = el("tr", {}, el("th", { scope: "col", text: "Figure" }), el("th", { scope: "col", text: "Better" }),
    el("th", { scope: "col", class: "number", text: "Weight" }), ...found.names.map((name) => el("th", { scope: "col",
      class: "number", text: name })));
  const rows = found.rows.map((row) => {
    const input = weightInput(row, () => reweigh(weights()));
    inputs.set(row.figure, input);
    const unit = row.unit && row.unit !== "-" ? `, ${row.unit}` : "";
    return el("tr", {}, el("th", { scope: "row", text: spoken(row.figure) + unit }), el("td", { text: row.better }),
      el("td", { class: "number" }, input), ...found.names.map((name, index) => cell(row, name, row.values[index])));
  });
  const alike = button("All alike", () => {
    for (const input of inputs.values()) input.value = "1";
    return reweigh(weights());
  }, { class: "button quiet small" });
  const headline = el("p", { class: "headline", role: "status" });
  const totals = el("tfoot", {});
  const tips = el("div", {});
  const score = (now) => {
    headline.textContent = winnerWords(now);
    show(totals, totalsRow(now));
    show(tips, tippingList(now));
  };
  score(found);
  return { score, node: el("div", { class: "weighed" }, headline, el("p", { class: "hint", text: HOW }),
    el("div", { class: "table-frame" }, el("table", {}, el("caption", { class: "hidden-words", text: "Jobs compared" }),
      el("thead", {}, head), el("tbody", {}, ...rows), totals)), el("div", { class: "row" }, alike), tips, notesOf(found)) };
}

/** @param {any} found */
function totalsRow(found) {
  return el("tr", { class: "totals" }, el("th", { scope: "row", text: "Score under these weights" }), el("td", { text: "more" }),
    el("td", {}), ...found.names.map((name, index) => el("td", { class: "number" }, found.scores[index].toFixed(2),
      found.winners.includes(name) ? best(" best") : null)));
}

/** @param {any} row @param {() => void} changed */
function weightInput(row, changed) {
  return el("input", { type: "number", min: "0", step: "any", value: String(row.weight), class: "weight",
    disabled: !row.winners.length, "aria-label": `Weight of ${spoken(row.figure)}`,
    title: row.winners.length ? null : "Not known of every job, so it cannot be compared",
    on: { change: changed } });
}

/** @param {string} word */
const best = (word) => el("span", { class: "best" }, el("span", { "aria-hidden": "true", text: "\u2605" }),
  el("span", { class: word.trim() ? "" : "hidden-words", text: word || " best" }));

/** @param {any} row @param {string} name @param {number | null} value */
function cell(row, name, value) {
  const isBest = row.winners.includes(name) && row.winners.length < row.values.length;
  return el("td", { class: value === null ? "number soft" : "number" }, numberWords(value), isBest ? best("") : null);
}

/** @param {any} found */
function winnerWords(found) {
  if (!found.winners.length) return "No winner: nothing that has a weight is known of all these jobs.";
  return found.winners.length > 1 ? `Level under these weights: ${found.winners.join(", ")}.`
    : `Best under these weights: ${found.winners[0]}.`;
}

/** @param {any} found */
function tippingList(found) {
  if (!found.tippings.length) {
    return found.winners.length === 1 ? el("p", { class: "hint",
      text: "No weight of a single figure changes who is best." }) : null;
  }
  return el("section", {}, el("h3", { text: "When another one is best" }), el("ul", {}, ...found.tippings.map((tip) => el("li", {
    text: `${tip.winner}, where the weight of ${spoken(tip.figure)} is ${tip.weight > tip.weight_now ? "above" : "below"} ${
      numberWords(tip.weight)} (now ${numberWords(tip.weight_now)}).` }))));
}

/** The worst finding of each and who can print it. @param {any} found */
function notesOf(found) {
  const printing = found.printability.map((one) => `${one.variant} on ${one.printer}: ${one.obstacles.length
    ? `not as it is: ${one.obstacles.join("; ")}` : one.unknown.length ? `not known: ${one.unknown.join("; ")}` : "yes"}.`);
  return el("section", {}, el("h3", { text: "What the report says of each" }), el("ul", {},
    ...found.names.map((name, index) => el("li", { text: `${name}: worst finding ${found.worst[index]}.` })),
    ...printing.map((text) => el("li", { text }))));
}
