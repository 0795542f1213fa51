/**
 * The photograph's pixels for a magnifier, decoded once for each picture.
 */
// SPDX-License-Identifier: Apache-2.0
import { read, subscribe } from "../state.js";

/** @param {() => void} ready called when a picture can be drawn @returns {() => HTMLImageElement | null} */
export function pictureOf(ready) {
  /** @type {HTMLImageElement | null} */
  let picture = null;
  let url = "";
  subscribe(["photo"], async () => {
    const photo = read("photo");
    if (!photo || !photo.url || photo.url === url) return;
    url = photo.url;
    const loaded = new Image();
    loaded.src = photo.url;
    await loaded.decode().catch(() => undefined);
    picture = loaded.naturalWidth ? loaded : null;
    ready();
  });
  return () => picture;
}
