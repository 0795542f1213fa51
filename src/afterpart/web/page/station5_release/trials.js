/**
 * What test prints showed, as rows of [[trial]]: used from then on in place of what rests on memory.
 */
// SPDX-License-Identifier: Apache-2.0
import { get } from "../api.js";
import { attempt, el, show } from "../dom.js";
import { rowTable } from "../row_table.js";
import { whenStationChanges } from "../state.js";

const HOW = "One row for each hole of the coupon a screw was driven into, and one for how the plate fitted. "
  + "Wear eye protection: screws snap.";
const COUPON_NOTES = ["Holes as drawn"];

export function trials() {
  const fault = el("p", { class: "fault", role: "alert" });
  const coupon = el("p", { class: "hint" });
  whenStationChanges("pieces", (stamp) => attempt(fault, async () => {
    show(coupon);
    if (stamp === null) return;
    const { pieces } = await get("/api/pieces");
    const notes = pieces.filter((piece) => piece.kind === "hole_coupon")
      .flatMap((piece) => piece.notes.map((note) => note.text || note));
    coupon.textContent = notes.filter((note) => COUPON_NOTES.some((begin) => note.startsWith(begin))).join(" ");
  }));
  return el("section", { class: "box", id: "trials", tabindex: "-1" }, el("h3", { text: "What test prints showed" }),
    el("p", { class: "hint",
      text: HOW }),
    coupon, rowTable("trial", { add: "Write down a trial" }), fault);
}
