/**
 * The page's only way to the program: requests with this run's key, edits one after another, progress as it is said.
 *
 * The key comes in the address once (#key=...), is kept for this tab and taken out of the address at once.  Whatever goes wrong
 * ends as an ApiError in the program's own words: what, where, and the way out.  Limits: nothing is tried twice unasked.
 */
// SPDX-License-Identifier: Apache-2.0
import { read, write } from "./state.js";

const KEY_NAME = "afterpart-key";
const NO_ANSWER = "The program on this machine does not answer.";

/** What the program refused, in its words.  status: 0 when there was no answer at all. */
export class ApiError extends Error {
  /** @param {number} status @param {{message?: string, where?: string, way_out?: string}} said */
  constructor(status, said) {
    super(said.message || "The program gave no reason.");
    this.status = status;
    this.where = said.where || "";
    this.wayOut = said.way_out || "";
  }
}

/** Takes this run's key out of the address and keeps it for this tab. @returns {boolean} whether there is a key */
export function takeKey() {
  const found = /(?:^#|&)key=([\w-]+)/.exec(window.location.hash);
  if (found) {
    window.sessionStorage.setItem(KEY_NAME, found[1]);
    window.history.replaceState(null, "", window.location.pathname + window.location.search);
  }
  return Boolean(window.sessionStorage.getItem(KEY_NAME));
}

/**
 * @param {string} method
 * @param {string} path under /api
 * @param {BodyInit | null} body
 * @param {Record<string, string>} headers
 */
async function ask(method, path, body = null, headers = {}, signal = undefined) {
  const key = window.sessionStorage.getItem(KEY_NAME) || "";
  let answer;
  try {
    answer = await fetch(path, { method, body, headers: { "X-Afterpart-Key": key, ...headers }, cache: "no-store", signal });
  } catch (cause) {
    throw new ApiError(0, { message: NO_ANSWER, way_out: "Start it again (afterpart open) and use the address it shows.",
      where: cause instanceof Error ? cause.message : "" });
  }
  if (answer.ok) return answer;
  throw new ApiError(answer.status, await refusal(answer));
}

/** @param {Response} answer */
async function refusal(answer) {
  const text = await answer.text();
  try {
    const said = JSON.parse(text);
    if (said.sheet) write({ sheet: said.sheet });
    return said;
  } catch {
    return { message: text || `The program answered ${answer.status}.` };
  }
}

/** @param {string} path @returns {Promise<any>} the JSON at a path under /api */
export async function get(path) {
  return (await ask("GET", path)).json();
}

/** @param {string} path @param {any} body @returns {Promise<any>} */
export async function post(path, body) {
  return (await ask("POST", path, JSON.stringify(body), { "Content-Type": "application/json" })).json();
}

/** @param {string} path @returns {Promise<Blob>} a picture, a model or a paper */
export async function getBlob(path) {
  return (await ask("GET", path)).blob();
}

/** @param {string} path @returns {Promise<string>} a blob: address; the caller gives it back with URL.revokeObjectURL */
export async function getBlobUrl(path) {
  return URL.createObjectURL(await getBlob(path));
}

/** Saves a file of the job on the maker's machine. @param {string} path @param {string} name */
export async function download(path, name) {
  const url = await getBlobUrl(path);
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  window.setTimeout(() => URL.revokeObjectURL(url), 60000);
}

/** @param {{sheet?: any, outline?: any}} answer */
function takeIn(answer) {
  const changes = {};
  if (answer.sheet) changes.sheet = answer.sheet;
  if (answer.outline) changes.outline = answer.outline;
  write(changes);
  return answer;
}

let queue = Promise.resolve();

/**
 * Runs one change after the other, so that each knows the stamp the one before has left.
 * @template T
 * @param {() => Promise<T>} step
 */
function inTurn(step) {
  const turn = queue.then(step);
  queue = turn.then(() => undefined, () => undefined);
  return turn;
}

const stamp = () => (read("sheet") || { stamp: "" }).stamp;

/**
 * Writes changes into job.toml.
 * @param {object[]} edits as POST /api/edits takes them
 * @param {{tried?: boolean}} more tried: only where the pieces can be laid out with them
 * @returns {Promise<{sheet: any, outline: any}>}
 */
export function edit(edits, more = {}) {
  return inTurn(async () => takeIn(await post("/api/edits", { stamp: stamp(), edits, ...more })));
}

/**
 * Writes changes that depend on what the job holds when their turn comes: what the page has read may be older.
 * @param {(job: any) => object[]} made the changes, of GET /api/job
 * @returns {Promise<{sheet: any, outline: any}>}
 */
export function editAsItStands(made) {
  return inTurn(async () => takeIn(await post("/api/edits", { stamp: stamp(), edits: made(await get("/api/job")) })));
}

/** Takes the last change back. */
export function undo() {
  return inTurn(async () => takeIn(await post("/api/undo", { stamp: stamp() })));
}

/** Makes the change that was taken back once more. */
export function redo() {
  return inTurn(async () => takeIn(await post("/api/redo", { stamp: stamp() })));
}

/**
 * Sends a photograph.
 * @param {File} file
 * @param {{shows: string, face: string} | {number: number}} place as one more photograph, which shows this; or in place of the
 * one of this number
 */
export function sendPhoto(file, place = { number: 1 }) {
  const told = new URLSearchParams({ name: file.name, ...("number" in place ? { in_place_of: String(place.number) }
    : { add: "true", ...place }) });
  const path = `/api/photo?${told}`;
  const kind = { "Content-Type": file.type || "application/octet-stream" };
  return inTurn(async () => {
    const sheet = await (await ask("POST", path, file, kind)).json();
    write({ sheet: sheet.sheet || sheet });
  });
}

/** Begins long work: measure, plate, build, check, release or compare. @param {string} what @param {object} more */
export async function work(what, more = {}) {
  const { id } = await post("/api/tasks", { what, ...more });
  const [now, ended] = [read("work"), read("ended")];
  if (ended && ended.id === id) write({ work: ended });
  else if (!now || now.id !== id) write({ work: { id, what, said: [], state: "runs", message: "", wayOut: "" } });
  return id;
}

/** Stops long work. @param {string} id */
export async function cancelWork(id) {
  await ask("DELETE", `/api/tasks/${encodeURIComponent(id)}`);
}

/** Reads the stream of events for as long as the page is open. @param {(kind: string, value: any) => void} hear */
export async function listen(hear) {
  for (;;) {
    try {
      const answer = await ask("GET", "/api/events");
      hear("connected", true);
      await readEvents(answer, hear);
    } catch (error) {
      if (error instanceof ApiError && error.status === 403) {
        hear("refused", error);
        return;
      }
    }
    hear("connected", false);
    await new Promise((resolve) => window.setTimeout(resolve, 1000));
  }
}

/** @param {Response} answer @param {(kind: string, value: any) => void} hear */
async function readEvents(answer, hear) {
  const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
  let text = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return;
    text = (text + value).replace(/\r\n/g, "\n");
    const parts = text.split("\n\n");
    text = parts.pop() || "";
    for (const part of parts) hearOne(part, hear);
  }
}

/** @param {string} part one event, its lines @param {(kind: string, value: any) => void} hear */
function hearOne(part, hear) {
  let kind = "message";
  const data = [];
  for (const line of part.split("\n")) {
    if (line.startsWith("event:")) kind = line.slice(6).trim();
    if (line.startsWith("data:")) data.push(line.slice(5).trimStart());
  }
  if (data.length) hear(kind, JSON.parse(data.join("\n")));
}
