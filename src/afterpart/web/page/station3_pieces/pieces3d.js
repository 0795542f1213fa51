/**
 * A piece or the assembly in three dimensions: read from the GLB that the build made, drawn as the trade draws (parallel,
 * plain colour, inked edges), turned by drag, keys or the words beside it.  Loaded only when station 3 is looked at.
 *
 * Axes: GLB counts in metres with y up; the drawing's x, y, z (mm) are x, -z, y there.  Nothing moves by itself: a picture is
 * drawn when something has changed.
 */
// SPDX-License-Identifier: Apache-2.0
import { AmbientLight, Box3, DirectionalLight, EdgesGeometry, LineBasicMaterial, LineSegments, MeshLambertMaterial,
  OrthographicCamera, Scene, Vector3, WebGLRenderer } from "three";
import { GLTFLoader } from "three/examples/jsm/loaders/GLTFLoader.js";

const EDGE_DEG = 28;
const FIRST_LOOK = { turn: -0.55, tip: 0.75 };
const MOST_TIP = Math.PI / 2 - 0.001;
const PER_PIXEL = 0.008;

/**
 * @typedef {{turnBy: (turn: number, tip: number) => void, nearBy: (times: number) => void, look: (turn: number, tip: number) =>
 * void,
 *   home: () => void, open: (bytes: ArrayBuffer) => Promise<string[]>, spread: (ways: {axis: number[], order: number}[] | null)
 * => void,
 *   repaint: () => void, painted: () => Promise<void>}} View
 */

/**
 * A view in a canvas.  Throws when the browser draws no three dimensions.
 * @param {HTMLCanvasElement} canvas @param {() => {ink: string, paper: string}} colours @returns {View}
 */
export function openView(canvas, colours) {
  const renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
  const scene = new Scene();
  const camera = new OrthographicCamera();
  const lamp = new DirectionalLight(0xffffff, 2.1);
  scene.add(new AmbientLight(0xffffff, 1.5), lamp, camera);
  const look = { ...FIRST_LOOK, near: 1 };
  const middle = new Vector3();
  /** @type {import("three").Object3D | null} */
  let model = null;
  let radius = 1;
  let waits = false;
  /** @type {(() => void)[]} */
  let told = [];

  const paint = () => {
    waits = false;
    const { clientWidth: width, clientHeight: height } = canvas;
    if (width && height) draw(width, height);
    for (const tell of told) tell();
    told = [];
  };
  const draw = (width, height) => {
    renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
    renderer.setSize(width, height, false);
    const half = (radius * 1.05) / look.near;
    const wide = Math.max(width / height, 1) * half;
    const high = Math.max(height / width, 1) * half;
    Object.assign(camera, { left: -wide, right: wide, top: high, bottom: -high, near: 0.01 * radius, far: 8 * radius });
    const flat = Math.cos(look.tip);
    camera.position.set(Math.sin(look.turn) * flat, Math.sin(look.tip), Math.cos(look.turn) * flat).multiplyScalar(4 * radius)
      .add(middle);
    camera.up.set(0, 1, 0);
    camera.lookAt(middle);
    camera.updateProjectionMatrix();
    lamp.position.copy(camera.position).sub(middle).applyAxisAngle(camera.up, 0.5).add(middle).add(new Vector3(0, 2 * radius, 0));
    lamp.target.position.copy(middle);
    lamp.target.updateMatrixWorld();
    renderer.render(scene, camera);
  };
  const repaint = () => {
    if (!waits) window.requestAnimationFrame(paint);
    waits = true;
  };
  const fit = () => {
    const box = new Box3().setFromObject(model);
    box.getCenter(middle);
    radius = Math.max(box.getSize(new Vector3()).length() / 2, 1e-6);
    repaint();
  };
  const view = {
    repaint,
    painted() {
      repaint();
      return new Promise((resolve) => { told.push(() => resolve(undefined)); });
    },
    turnBy(turn, tip) {
      look.turn += turn;
      look.tip = Math.max(-MOST_TIP, Math.min(MOST_TIP, look.tip + tip));
      repaint();
    },
    nearBy(times) {
      look.near = Math.max(0.5, Math.min(12, look.near * times));
      repaint();
    },
    look(turn, tip) {
      Object.assign(look, { turn, tip: Math.max(-MOST_TIP, Math.min(MOST_TIP, tip)) });
      repaint();
    },
    home() {
      Object.assign(look, FIRST_LOOK, { near: 1 });
      repaint();
    },
    async open(bytes) {
      const { scene: read } = await new GLTFLoader().parseAsync(bytes, "");
      if (model) discard(scene, model);
      model = read;
      inked(model, colours().ink);
      scene.add(model);
      fit();
      return model.children.map((part) => part.userData.name || part.name);
    },
    spread(ways) {
      if (!model) return;
      spreadOut(model.children, ways);
      fit();
    },
  };
  turnedByHand(canvas, view);
  new ResizeObserver(repaint).observe(canvas);
  // a phone takes the drawing board away from a page that lies behind, and gives back an empty one
  canvas.addEventListener("webglcontextrestored", repaint);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) repaint(); });
  return view;
}

/** Plain paint and inked edges. @param {import("three").Object3D} model @param {string} ink */
function inked(model, ink) {
  /** @type {any[]} */
  const meshes = [];
  model.traverse((node) => { if (/** @type {any} */ (node).isMesh) meshes.push(node); });
  for (const mesh of meshes) {
    const material = new MeshLambertMaterial({ color: mesh.material.color, polygonOffset: true, polygonOffsetFactor: 1,
      polygonOffsetUnits: 1 });
    mesh.material.dispose();
    mesh.material = material;
    mesh.add(new LineSegments(new EdgesGeometry(mesh.geometry, EDGE_DEG), new LineBasicMaterial({ color: ink })));
  }
}

/** @param {import("three").Scene} scene @param {import("three").Object3D} model */
function discard(scene, model) {
  scene.remove(model);
  model.traverse((node) => {
    const one = /** @type {any} */ (node);
    if (one.geometry) one.geometry.dispose();
    if (one.material) one.material.dispose();
  });
}

/**
 * Moves the parts of an assembly apart, each the way it came, or together again (null).  Those fitted first stay; each later one
 * comes to lie beyond what was fitted before it from its side.
 * @param {import("three").Object3D[]} parts @param {{axis: number[], order: number}[] | null} ways of the drawing, one per part
 */
function spreadOut(parts, ways) {
  for (const part of parts) part.position.set(0, 0, 0);
  if (!ways || !parts.length) return;
  for (const part of parts) part.updateMatrixWorld(true);
  const axes = ways.map(({ axis: [x, y, z] }) => new Vector3(x, z, -y));
  const extents = parts.map((part, index) => extent(part, axes[index]));
  const all = extents.map(([low, high]) => high - low);
  const gap = 0.25 * Math.max(...all);
  const first = Math.min(...ways.map((way) => way.order));
  const base = parts.filter((_, index) => ways[index].order === first);
  /** @type {Map<string, number>} */
  const reach = new Map();
  const orders = [...new Set(ways.map((way) => way.order))].filter((order) => order !== first).sort((a, b) => a - b);
  for (const order of orders) {
    const moving = parts.map((_, index) => index).filter((index) => ways[index].order === order);
    for (const key of new Set(moving.map((index) => String(ways[index].axis)))) {
      const group = moving.filter((index) => String(ways[index].axis) === key);
      const axis = axes[group[0]];
      const near = Math.min(...group.map((index) => extents[index][0]));
      const far = Math.max(...group.map((index) => extents[index][1]));
      const before = reach.get(key) ?? Math.max(...base.map((part) => extent(part, axis)[1]));
      const out = axis.lengthSq() ? Math.max(0, before + gap - near) : 0;
      reach.set(key, far + out);
      for (const index of group) parts[index].position.copy(axis).multiplyScalar(out);
    }
  }
}

/**
 * How far a part reaches along an axis-parallel direction, from and to. @param {import("three").Object3D} part
 * @param {Vector3} axis
 */
function extent(part, axis) {
  const box = new Box3().setFromObject(part);
  const ends = [box.min.x, box.max.x].flatMap((x) => [box.min.y, box.max.y].flatMap((y) =>
    [box.min.z, box.max.z].map((z) => new Vector3(x, y, z).dot(axis))));
  return [Math.min(...ends), Math.max(...ends)];
}

/** @param {HTMLCanvasElement} canvas @param {View} view */
function turnedByHand(canvas, view) {
  /** @type {Map<number, [number, number]>} */
  const held = new Map();
  const apart = () => {
    const [one, other] = [...held.values()];
    return Math.hypot(one[0] - other[0], one[1] - other[1]);
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    held.set(event.pointerId, [event.clientX, event.clientY]);
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = held.get(event.pointerId);
    if (!before) return;
    const was = held.size === 2 ? apart() : 0;
    held.set(event.pointerId, [event.clientX, event.clientY]);
    if (held.size === 1) view.turnBy((before[0] - event.clientX) * PER_PIXEL, (event.clientY - before[1]) * PER_PIXEL);
    else if (was > 0) view.nearBy(apart() / was);
  });
  for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name,
    (event) => held.delete(/** @type {PointerEvent} */ (event).pointerId));
  canvas.addEventListener("wheel", (event) => {
    if (document.activeElement !== canvas) return;
    event.preventDefault();
    view.nearBy(Math.exp(-event.deltaY * 0.0012));
  }, { passive: false });
  const step = Math.PI / 18;
  /** @type {Record<string, () => void>} */
  const keys = { ArrowLeft: () => view.turnBy(-step, 0), ArrowRight: () => view.turnBy(step, 0), ArrowUp: () => view.turnBy(0,
    step),
    ArrowDown: () => view.turnBy(0, -step), "+": () => view.nearBy(1.2), "=": () => view.nearBy(1.2),
      "-": () => view.nearBy(1 / 1.2),
    Home: () => view.home() };
  canvas.addEventListener("keydown", (event) => {
    const act = event.ctrlKey || event.metaKey || event.altKey ? undefined : keys[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });
}
