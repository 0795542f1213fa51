/**
 * What the measurement says beside its numbers: contradictions first and in plain sight, then what is merely good to know.
 */
// SPDX-License-Identifier: Apache-2.0
import { el, folded, show } from "../dom.js";

/** Parts of the codes that stand for something to look at at once. */
const LOUD = ["conflict", "contradict", "misfit", "disagree",
  "doubtful", "proportion", "not_flat", "not_level", "ladder", "missing", "unknown",
  "assumed", "fixed", "refused", "several_parts"];

/** @param {{code: string}} note */
const isLoud = (note) => LOUD.some((part) => note.code.includes(part));

/** @returns {{node: Element, update: (notes: {code: string, text: string}[]) => void}} */
export function noteList() {
  const node = el("div", { class: "notes", "aria-live": "polite" });
  return {
    node,
    update(notes) {
      const loud = notes.filter(isLoud);
      const quiet = notes.filter((note) => !isLoud(note));
      show(node, ...loud.map((note) => el("p", { class: "note", "data-code": note.code },
        el("span", { class: "mark", "aria-hidden": "true", text: "!" }),
        el("span", { class: "said", text: note.text }))),
      quiet.length ? folded(`Good to know (${quiet.length})`, el("ul", {}, ...quiet.map((note) =>
        el("li", { text: note.text })))) : null);
    },
  };
}
