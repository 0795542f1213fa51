/**
 * Station 4, findings: not built yet.  mount(body) fills the station's body and keeps it up to date.
 */
// SPDX-License-Identifier: Apache-2.0
import { el } from "../dom.js";

/** @param {HTMLElement} body */
export function mount(body) {
  body.append(el("p", { class: "word", text: "Nothing here yet." }));
}
