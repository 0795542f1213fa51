/**
 * What long work says while it runs, beside the button that began it, with a way to stop it.
 */
// SPDX-License-Identifier: Apache-2.0
import { cancelWork } from "./api.js";
import { attempt, button, el, show, tell } from "./dom.js";
import { read, subscribe } from "./state.js";

const DOING = { measure: "Measuring", plate: "Making the check plate", build: "Making the pieces", check: "Judging",
  release: "Making the release", compare: "Comparing", mate: "Laying the mate on the cover", verify: "Verifying" };

/** A box that shows the work of the given kinds and nothing else. @param {string[]} kinds @returns {HTMLElement} */
export function progressBox(kinds) {
  const box = /** @type {HTMLElement} */ (el("div", { class: "progress", "aria-live": "polite" }));
  subscribe(["work"], () => {
    const work = read("work");
    if (!work || !kinds.includes(work.what)) show(box);
    else showWork(box, work);
  });
  return box;
}

/** @param {Element} box @param {any} work */
function showWork(box, work) {
  const place = el("p", { class: "fault" });
  if (work.state === "failed") {
    show(box, place);
    tell(place, { message: work.message, wayOut: work.wayOut, where: work.where });
    return;
  }
  if (work.state === "stopped") {
    show(box, el("p", { class: "word", text: "Stopped. Nothing was half-written." }));
    return;
  }
  if (work.state === "done") {
    show(box);
    return;
  }
  const stop = button("Stop", () => attempt(place, () => cancelWork(work.id)), { class: "button quiet" });
  show(box, el("p", { class: "word runs" }, el("span", { class: "turning", "aria-hidden": "true" }),
    `${DOING[work.what] || "Working"}: ${work.said.length ? work.said[work.said.length - 1] : "begins"}`), stop, place);
}

/** @returns {boolean} whether long work runs at the moment */
export function isBusy() {
  const work = read("work");
  return Boolean(work && work.state === "runs");
}
