/**
 * The job sheet begins here: key, title block, the five stations, and the program's events.
 */
// SPDX-License-Identifier: Apache-2.0
import { ApiError, get, listen, takeKey } from "./api.js";
import { el, show, tell } from "./dom.js";
import { isOld, read, subscribe, write } from "./state.js";
import { followPhoto } from "./picture/source.js";
import { takeUnit } from "./units.js";
import { takeTheme, titleBlock } from "./title_block.js";
import * as photo from "./station1_photo/station.js";
import * as dimensions from "./station2_dimensions/station.js";
import * as pieces from "./station3_pieces/station.js";
import * as findings from "./station4_findings/station.js";
import * as release from "./station5_release/station.js";

const STATIONS = [
  { id: "photo", name: "Photo", mount: photo.mount },
  { id: "dimensions", name: "Dimensions", mount: dimensions.mount },
  { id: "pieces", name: "Pieces", mount: pieces.mount },
  { id: "findings", name: "Findings", mount: findings.mount },
  { id: "release", name: "Release", mount: release.mount },
];

/** @param {{id: string, name: string, mount: (body: HTMLElement) => void}} station @param {number} number */
function stationNode({ id, name, mount }, number) {
  const body = /** @type {HTMLElement} */ (el("div", { class: "station-body" }));
  const heading = el("h2", { id: `${id}-name`, tabindex: "-1" }, el("span", { class: "numeral", text: String(number) }),
    el("span", { class: "name", text: name }));
  mount(body);
  return el("section", { class: "station", id, "aria-labelledby": `${id}-name` },
    el("div", { class: "station-head" }, heading), body);
}

/** @param {string} kind @param {any} value one event of the program */
function hear(kind, value) {
  const work = read("work");
  if (kind === "sheet") takeSheet(value);
  else if (kind === "connected") write({ connected: value });
  else if (kind === "refused") write({ connected: true, refused: value });
  else if (kind === "done" || kind === "failed") end(kind, value);
  else if (!work || work.id !== value.id) return;
  else if (kind === "said") write({ work: { ...work, said: [...work.said, value.text] } });
}

/**
 * Long work has ended; its end may come before the answer to its beginning, so it is kept for that.
 * @param {string} kind
 * @param {any} value
 */
function end(kind, value) {
  const state = kind === "done" ? "done" : value.message ? "failed" : "stopped";
  const ended = { id: value.id, what: value.what, said: [], state, message: value.message || "", wayOut: value.way_out || "",
    where: value.where || "", result: value.result };
  const work = read("work");
  write({ ended, ...(work && work.id === value.id ? { work: { ...ended, said: work.said } } : {}) });
}

/** @param {any} sheet */
function takeSheet(sheet) {
  if (isOld(sheet)) return;
  const changes = { sheet };
  const known = read("work");
  if (sheet.work && (!known || known.id !== sheet.work.id || known.said.length < sheet.work.said.length)) {
    changes.work = { ...sheet.work, state: "runs", message: "", wayOut: "" };
  } else if (!sheet.work && known && known.state === "runs" && known.seen) {
    changes.work = { ...known, state: "stopped" };
  }
  if (sheet.work && changes.work) changes.work.seen = true;
  write(changes);
}

let jobStamp = "";

/** Reads the job anew whenever its file has changed. */
async function followJob() {
  const sheet = read("sheet");
  if (!sheet || sheet.stamp === jobStamp) return;
  jobStamp = sheet.stamp;
  if (!sheet.has_job || sheet.problems.length) {
    if (!sheet.has_job) write({ job: null });
    return;
  }
  const job = await get("/api/job");
  if (sheet.stamp === jobStamp) write({ job });
}

async function begin() {
  takeTheme();
  takeUnit();
  const hasKey = takeKey();
  titleBlock(document.getElementById("title-block"));
  const main = document.getElementById("stations");
  if (!hasKey) {
    tell(main.appendChild(el("p", { class: "fault large", role: "alert" })), { message: "This tab has no key to the program.",
      wayOut: "Use the whole address that afterpart open printed; it ends in #key=..." });
    return;
  }
  subscribe(["sheet"], followJob);
  followPhoto();
  try {
    write({ schema: await get("/api/schema") });
    takeSheet(await get("/api/sheet"));
  } catch (error) {
    tell(main.appendChild(el("p", { class: "fault large", role: "alert" })), error);
    // with a wrong key nothing else can be asked for: one message, and no sheet to type into
    if (error instanceof ApiError && error.status === 403) return;
  }
  show(main, ...(main.querySelector(".fault") ? [...main.children] : []),
    ...STATIONS.map((station, index) => stationNode(station, index + 1)));
  void listen(hear);
}

void begin();
