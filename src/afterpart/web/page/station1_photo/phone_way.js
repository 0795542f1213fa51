/**
 * The way in for a phone on the same network: a picture to point it at, shown only where it was asked for (afterpart open --lan)
 * and for as long as its key holds.
 */
// SPDX-License-Identifier: Apache-2.0
import { getBlobUrl } from "../api.js";
import { attempt, el, show } from "../dom.js";
import { read, subscribe } from "../state.js";

const HOW = "Point the phone\u2019s camera at the square. Phone and computer must be in the same network. The key in it takes "
  + "one photograph, within 15 minutes, and nothing else.";

/** @returns {HTMLElement} */
export function phoneWay() {
  const fault = el("p", { class: "fault", role: "alert" });
  const picture = el("div", { class: "phone-code" });
  const address = el("p", { class: "soft phone-address" });
  const node = /** @type {HTMLElement} */ (el("section", { class: "box phone-way",
    "aria-label": "Send a photograph from the phone" }, picture,
    el("div", {}, el("h3", { text: "Send it from the phone" }),
      el("p", { text: HOW }), address, fault)));
  let shown = "";
  subscribe(["sheet"], () => {
    const phone = (read("sheet") || {}).phone || "";
    node.hidden = !phone;
    if (phone === shown) return;
    shown = phone;
    if (!phone) { show(picture); return; }
    address.textContent = phone;
    void attempt(fault, async () => {
      const url = await getBlobUrl("/api/phone");
      show(picture, el("img", { src: url, alt: "Code with the address for the phone", width: "168", height: "168" }));
    });
  });
  return node;
}
