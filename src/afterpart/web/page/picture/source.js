/**
 * The photographs of the job for whoever shows one: what is known of it, and the picture itself, fetched again only when its
 * bytes have changed (so that a view keeps its place while the job is edited).
 */
// SPDX-License-Identifier: Apache-2.0
import { get, getBlob } from "../api.js";
import { read, subscribe, write } from "../state.js";

/** @param {Blob} blob @returns {Promise<string>} */
async function fingerprint(blob) {
  if (!window.crypto.subtle) return `${blob.size}`;
  const bytes = new Uint8Array(await window.crypto.subtle.digest("SHA-256", await blob.arrayBuffer()));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * Reads what is known of a photograph, and the picture where its stamp is another than before.
 * @param {number} number which photograph, from 1 @param {string} stamp of the pictures
 */
async function load(number, stamp) {
  const before = read("photo");
  const isKnown = before && before.url && before.number === number && before.stamp === stamp;
  const [said, blob] = await Promise.all([get(`/api/photo/${number}`), isKnown ? null : getBlob(`/api/photo/${number}/picture`)]);
  const info = { ...said, found: said.found || said };
  const print = blob ? await fingerprint(blob) : before.print;
  const kept = before && before.print === print ? before.url : "";
  write({ photo: { number, stamp, info, print, url: kept || URL.createObjectURL(blob), fault: null } });
  if (before && before.url && !kept) window.setTimeout(() => URL.revokeObjectURL(before.url), 5000);
}

/** Keeps `photo` in the store: {number, stamp, info, url, print, fault} of the photograph `photoNumber`, or null. */
export function followPhoto() {
  let last = "";
  subscribe(["sheet", "photoNumber", "ended"], () => {
    const sheet = read("sheet");
    if (!sheet) return;
    const number = read("photoNumber") || 1;
    // laying a mate on the cover measures its photographs, which no station's stamp tells
    const ended = read("ended");
    const mate = ended && ended.what === "mate" ? ended.id : "";
    const now = sheet.stations.photo ? `${number} ${sheet.stations.photo} ${sheet.stations.outline} ${mate}` : "";
    if (now === last) return;
    last = now;
    if (!now) {
      // while the job file cannot be read what was there stays in sight
      if (!sheet.problems.length) write({ photo: null });
      return;
    }
    load(number, sheet.stations.photo).catch((error) => {
      if (now === last) write({ photo: { number, stamp: "", info: null, url: "", print: "", fault: error } });
    });
  });
}
