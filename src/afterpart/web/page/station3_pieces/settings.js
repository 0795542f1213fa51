/**
 * What is wanted of the new part: a folded form for each table of the job that the pieces are made from.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { attempt, el, newId, show } from "../dom.js";
import { capital } from "../fields.js";
import { rowsSetting, tableSetting } from "../setting.js";
import { read, subscribe } from "../state.js";

/** Tables in the order of the work, each with the keys shown even where the job leaves them out. @type {[string, string[]][]} */
const TABLES = [["cover", ["thickness", "fit"]], ["bolts", ["thread", "head", "washer", "torque_n_m"]],
  ["seal", ["kind", "duty", "section", "material"]], ["lip", ["of", "height"]], ["inlet", ["opening", "bellmouth"]],
  ["filter", ["thickness", "pores_per_inch", "rim", "cuts"]], ["holder", ["kind"]],
  ["screws", ["outside", "core", "pitch", "length"]], ["coupon", ["hole", "count"]], ["printer", ["material", "bed", "nozzle",
    "layer"]],
  ["plate", ["thickness", "bed"]]];
const ALWAYS = ["printer", "plate"];
const ROWS = ["role", "change", "hole", "boss"];
const PIECES = ["cover", "gasket", "clamp_frame", "filter_element", "cutting_guide", "hole_coupon"];

export function settings() {
  const box = el("div", { class: "settings" });
  let built = false;
  subscribe(["schema"], () => {
    if (built || !read("schema")) return;
    built = true;
    show(box, el("h3", { text: "What is wanted" }), pieceChoice(), el("div", { class: "setting-list" },
      ...TABLES.map(([name, first]) => tableSetting(name, first, ALWAYS.includes(name))), ...ROWS.map(rowsSetting)));
  });
  return box;
}

/** Which pieces are made: ticks; none ticked leaves it to the tables below. */
function pieceChoice() {
  const fault = el("p", { class: "fault", role: "alert" });
  const boxes = PIECES.map((piece) => {
    const id = newId("make");
    const tick = /** @type {HTMLInputElement} */ (el("input", { type: "checkbox", id, value: piece }));
    tick.addEventListener("change", () => attempt(fault, () => {
      const chosen = boxes.filter(({ tick: one }) => one.checked).map(({ tick: one }) => one.value);
      return edit([chosen.length ? { do: "set", at: "make", value: chosen } : { do: "remove", at: "make" }]);
    }));
    return { tick, node: el("span", { class: "tick" }, tick, el("label", { for: id, text: capital(piece) })) };
  });
  subscribe(["job"], () => {
    const chosen = (read("job") || {}).make || [];
    for (const { tick } of boxes) tick.checked = chosen.includes(tick.value);
  });
  return el("fieldset", { class: "ticks" }, el("legend", { text: "Pieces to make" }), ...boxes.map(({ node }) => node),
    el("p", { class: "hint", text: "None ticked: what the tables below ask for." }), fault);
}
