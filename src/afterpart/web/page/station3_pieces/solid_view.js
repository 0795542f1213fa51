/**
 * The picture of a piece or of the assembly: three dimensions where the browser draws them, the build's own picture where not.
 */
// SPDX-License-Identifier: Apache-2.0
import { get, getBlob, getBlobUrl } from "../api.js";
import { button, el, show } from "../dom.js";
import { read, subscribe } from "../state.js";

const QUARTER = Math.PI / 2;
const STEP = Math.PI / 12;
const DRAWING_BOARD = { alpha: true, antialias: true, depth: true, stencil: false };
const KEYS_HINT = "Drag to turn. With the picture chosen: arrow keys turn, + and - come nearer and go back, Home begins again.";

/** @returns {{node: Element, open: (stem: string, name: string, assembly: boolean) => Promise<void>}} */
export function solidView() {
  const canvas = /** @type {HTMLCanvasElement} */ (el("canvas", { class: "solid", tabindex: "0", role: "img" }));
  const picture = el("img", { class: "solid-picture", alt: "" });
  const frame = el("div", { class: "solid-frame" });
  const fault = el("p", { class: "hint" });
  const tools = el("div", { class: "row solid-tools", role: "group", "aria-label": "Turning the picture" });
  const apart = el("div", { class: "row", role: "group", "aria-label": "How the assembly is shown" });
  const isNear = comesNear(frame);
  /** @type {any} */
  let view = null;
  /** @type {{stem: string, ways: any[] | null} | null} */
  let now = null;
  let isApart = false;
  let turn = 0;

  const put = async (value) => {
    isApart = value;
    for (const one of apart.querySelectorAll("button")) one.setAttribute("aria-pressed",
      String((one.dataset.apart === "yes") === value));
    if (view && now) view.spread(value ? now.ways : null);
    else if (now) await showPicture(picture, value ? "exploded" : now.stem);
  };
  const begin = async () => {
    if (view) return;
    // asked first, with what the library asks for: where the answer is no, the library need not come
    if (!canvas.getContext("webgl2", DRAWING_BOARD)) throw new Error("no WebGL 2");
    const { openView } = await import("/pieces3d.js");
    view = openView(canvas, colours);
    const click = (text, act) => button(text, act, { class: "button quiet small" });
    show(tools, click("From the mating side", () => view.look(0, QUARTER)), click("From outside", () => view.look(0, -QUARTER)),
      click("From the side", () => view.look(0, 0)), click("Turn left", () => view.turnBy(-STEP, 0)),
      click("Turn right", () => view.turnBy(STEP, 0)), click("Tip up", () => view.turnBy(0, STEP)),
      click("Tip down", () => view.turnBy(0, -STEP)), click("Nearer", () => view.nearBy(1.25)),
      click("Farther", () => view.nearBy(0.8)), click("As at first", () => view.home()));
  };
  const open = async (stem, name, assembly) => {
    const mine = (turn += 1);
    canvas.setAttribute("aria-label", `${name}, in three dimensions. ${KEYS_HINT}`);
    picture.setAttribute("alt", name);
    show(apart, ...(assembly ? [["no", "Together"], ["yes", "Apart"]] : []).map(([value, text]) => button(text,
      () => put(value === "yes"),
      { class: "button quiet small", "data-apart": value, "aria-pressed": "false" })));
    now = { stem, ways: null };
    await isNear;
    if (mine !== turn) return;
    try {
      await begin();
    } catch {
      view = null;
      show(frame, picture);
      fault.textContent = "This browser draws no three dimensions; here is the build's own picture.";
      await put(assembly && isApart);
      return;
    }
    const bytes = await (await getBlob(`/api/file/pieces/${stem}.glb`)).arrayBuffer();
    if (mine !== turn) return;
    const names = await view.open(bytes);
    const ways = assembly ? waysOf(await get("/api/file/pieces/pieces.json"), names) : null;
    if (mine !== turn) return;
    now = { stem, ways };
    await put(assembly && isApart);
    await view.painted();
    if (mine === turn) canvas.dataset.shown = stem;
  };
  subscribe(["sheet"], () => { if (view) view.repaint(); });
  show(frame, canvas);
  return { node: el("div", {}, apart, frame, tools, el("p", { class: "hint", text: KEYS_HINT }), fault), open };
}

/** Kept when the node is about to be looked at: until then nothing in three dimensions is loaded. @param {Element} node */
function comesNear(node) {
  return new Promise((resolve) => {
    const watch = new IntersectionObserver((seen) => {
      if (!seen.some((one) => one.isIntersecting)) return;
      watch.disconnect();
      resolve(true);
    }, { rootMargin: "300px" });
    watch.observe(node);
  });
}

/** The inks of the page, read from its own style. */
function colours() {
  const style = window.getComputedStyle(document.documentElement);
  return { ink: "#1f2530", paper: style.getPropertyValue("--paper-raised").trim() };
}

/** @param {Element} picture @param {string} stem */
async function showPicture(picture, stem) {
  const image = /** @type {HTMLImageElement} */ (picture);
  if (image.src) URL.revokeObjectURL(image.src);
  image.src = await getBlobUrl(`/api/file/pieces/${stem}.png`);
}

/**
 * The way each part of the assembly came, in the order of its model: pieces and bought things in the order of assembly, as the
 * build lists them; foam has no part of its own.
 * @param {any} build pieces.json @param {string[]} names
 * @returns {{axis: number[], order: number}[] | null} null where the model shows other parts than the build lists
 */
function waysOf(build, names) {
  const { places, items } = build.assembly;
  const things = [...places, ...items.filter((item) => item.kind !== "foam")].map((thing, index) => ({ thing, index }))
    .sort((a, b) => a.thing.order - b.thing.order || a.index - b.index).map(({ thing }) => ({ axis: thing.comes_from,
      order: thing.order }));
  return things.length === names.length ? things : null;
}
