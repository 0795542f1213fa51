/**
 * The photograph, down to its single pixels, with a crisp drawing over it.
 *
 * Picture coordinates: pixels of the upright picture, origin at its top left corner, middles of pixels at .5.  The viewer's own
 * buttons are off; the wheel zooms only once the picture has been clicked, so that the sheet scrolls on under the hand.
 */
// SPDX-License-Identifier: Apache-2.0
import OpenSeadragon from "openseadragon";
import { button, el, svgEl } from "../dom.js";

const NEARER = 1.6;
const SINGLE_PIXEL = 12;
const ROOM = 0.12;
const QUIET_FRAMES = 30;
const CHANGES = ["open", "pan", "zoom", "home"];

/** The box round chains of points. @param {[number, number][][]} chains */
export function boundsOf(chains) {
  const points = chains.flat();
  const xs = points.map((point) => point[0]);
  const ys = points.map((point) => point[1]);
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  return { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
}

/** @param {HTMLElement} holder */
function makeViewer(holder) {
  return OpenSeadragon({
    element: holder, showNavigationControl: false, drawer: "canvas", imageSmoothingEnabled: false, maxZoomPixelRatio: 40,
    minZoomImageRatio: 0.7, visibilityRatio: 0.5, animationTime: 0.3, gestureSettingsMouse: { clickToZoom: false },
    gestureSettingsTouch: { clickToZoom: false }, gestureSettingsPen: { clickToZoom: false },
  });
}

/**
 * Lets the viewer rest once nothing has changed for some frames (by itself it asks for a frame for as long as it is open), and
 * wakes it when its view, its size or its keys change.  mayRest and wake are put into the library by build.mjs.
 * @param {any} viewer
 */
function restWhenStill(viewer) {
  let quiet = 0;
  viewer.mayRest = () => {
    const { viewport, world } = viewer;
    const item = world.getItemAt(0);
    const isStill = Boolean(item) && item.getFullyLoaded() && !world.needsDraw()
      && [viewport.zoomSpring, viewport.centerSpringX, viewport.centerSpringY].every((spring) => spring.isAtTargetValue());
    quiet = isStill ? quiet + 1 : 0;
    return quiet > QUIET_FRAMES;
  };
  const wake = () => {
    quiet = 0;
    if (viewer.wake) viewer.wake();
  };
  for (const event of CHANGES) viewer.addHandler(event, wake);
  viewer.container.addEventListener("keydown", wake, { capture: true });
  new ResizeObserver(wake).observe(viewer.container);
}

/**
 * @param {string} label what the picture is, for those who do not see it
 * @returns the view: node, svg, layer (picture coordinates), open, toScreen, toPicture, size, whenMoved, whenStill, pick, lookAt
 */
export function photoViewer(label) {
  const holder = /** @type {HTMLElement} */ (el("div", { class: "viewer" }));
  const svg = svgEl("svg", { class: "over", "aria-hidden": "true" });
  const layer = svgEl("g", { class: "in-picture" });
  svg.append(layer);
  const viewer = makeViewer(holder);
  restWhenStill(viewer);
  viewer.container.append(svg);
  viewer.canvas.setAttribute("role", "group");
  viewer.canvas.setAttribute("aria-label", `${label}. Arrow keys move it, plus and minus change how near it is.`);
  const moved = [];
  const still = [];
  let scale = 1;
  let left = 0;
  let top = 0;

  const follow = () => {
    const item = viewer.world.getItemAt(0);
    if (!item) return;
    const width = item.getContentSize().x;
    const from = viewer.viewport.pixelFromPoint(item.imageToViewportCoordinates(0, 0, true), true);
    const to = viewer.viewport.pixelFromPoint(item.imageToViewportCoordinates(width, 0, true), true);
    [scale, left, top] = [(to.x - from.x) / width, from.x, from.y];
    layer.setAttribute("transform", `translate(${left} ${top}) scale(${scale})`);
    for (const listener of moved) listener();
  };
  const rest = () => { follow(); for (const listener of still) listener(); };
  viewer.addHandler("update-viewport", follow);
  /** @type {{x: number, y: number, width: number, height: number} | null} */
  let first = null;
  let isMoved = false;
  const begin = () => {
    if (isMoved || !viewer.world.getItemAt(0)) return;
    if (first) look(first);
    else viewer.viewport.goHome(true);
  };
  // the viewer may have been opened while it was hidden: until it is moved by hand it is fitted anew to its frame
  for (const event of ["canvas-drag", "canvas-pinch", "canvas-key", "canvas-double-click"]) viewer.addHandler(event, () =>
    { isMoved = true; });
  viewer.addHandler("open", () => { viewer.forceResize(); begin(); });
  // the library moves the picture once more after this event
  viewer.addHandler("after-resize", () => window.requestAnimationFrame(begin));
  for (const event of ["open", "animation-finish", "after-resize"]) viewer.addHandler(event, () => window.requestAnimationFrame(
    rest));
  viewer.addHandler("canvas-scroll", (event) => {
    const wanted = viewer.canvas.contains(document.activeElement) || event.originalEvent.ctrlKey;
    event.preventDefaultAction = !wanted;
    isMoved = isMoved || wanted;
    event.preventDefault = wanted;
  });

  /** @type {((point: [number, number]) => void) | null} */
  let picking = null;
  /** @type {(() => void) | null} */
  let atEnd = null;
  let isChanging = false;
  viewer.addHandler("canvas-click", (event) => {
    if (!picking || !event.quick) return;
    picking([(event.position.x - left) / scale, (event.position.y - top) / scale]);
  });

  const look = ({ x, y, width, height }) => {
    const more = ROOM * Math.max(width, height);
    viewer.viewport.fitBounds(viewer.world.getItemAt(0).imageToViewportRectangle(x - more, y - more, width + 2 * more, height
      + 2 * more), true);
  };
  const zoom = (factor) => { isMoved = true; viewer.viewport.zoomBy(factor); viewer.viewport.applyConstraints(); };
  const pixels = () => { isMoved = true; viewer.viewport.zoomTo(viewer.world.getItemAt(0).imageToViewportZoom(SINGLE_PIXEL)); };
  const tools = el("div", { class: "row view-tools" },
    button("Nearer", () => zoom(NEARER), { class: "button quiet small" }),
    button("Farther", () => zoom(1 / NEARER), { class: "button quiet small" }),
    button("Whole picture", () => viewer.viewport.goHome(), { class: "button quiet small" }),
    button("Single pixels", pixels, { class: "button quiet small" }));

  return {
    node: el("div", { class: "view" }, holder, tools),
    tools, svg, layer, viewer,
    /**
     * @param {string} url
     * @param {{x: number, y: number, width: number, height: number} | null} part what to show first, with room round it
     */
    open(url, part = null) {
      first = part;
      isMoved = false;
      viewer.open({ type: "image", url, buildPyramid: true });
    },
    /** @param {[number, number]} point @returns {[number, number]} */
    toScreen: (point) => [left + point[0] * scale, top + point[1] * scale],
    /** @param {[number, number]} at on the screen, from the frame's corner @returns {[number, number]} */
    toPicture: (at) => [(at[0] - left) / scale, (at[1] - top) / scale],
    size: () => ({ width: holder.clientWidth, height: holder.clientHeight }),
    whenMoved: (listener) => moved.push(listener),
    whenStill: (listener) => still.push(listener),
    /**
     * Every click goes to the listener until null or another one is given; then ended is called.
     * @param {((point: [number, number]) => void) | null} listener @param {(() => void) | null} ended
     */
    pick(listener, ended = null) {
      // a tool that ends because another one begins must not end that one too
      if (isChanging) return;
      const before = atEnd;
      [picking, atEnd] = [listener, listener ? ended : null];
      holder.classList.toggle("picks", Boolean(listener));
      if (!before || before === ended) return;
      isChanging = true;
      before();
      isChanging = false;
    },
    /** Brings a point into the middle, at least so near. @param {[number, number]} point @param {number} nearness */
    lookAt(point, nearness = 0) {
      const item = viewer.world.getItemAt(0);
      if (!item) return;
      viewer.viewport.panTo(item.imageToViewportCoordinates(point[0], point[1]));
      const wanted = item.imageToViewportZoom(nearness);
      if (nearness && viewer.viewport.getZoom() < wanted) viewer.viewport.zoomTo(wanted);
    },
  };
}
