/**
 * What the page knows at the moment, in one place; whoever shows something is told when it changes.
 *
 * Names: sheet (GET /api/sheet), outline (GET /api/outline), job (GET /api/job), schema (GET /api/schema), work (the long work of
 * this run: {id, what, said, state: runs | done | failed | stopped, message, wayOut, result}), ended (the
 * work that ended last), selected (id of the dimension chosen),
 * picked (ids of the segments chosen), photo (picture/source.js), photoNumber, connected, refused (the refusal of a
 * key that no longer holds), unit ("mm" | "inch", display only).
 * Values are replaced, never changed in place.
 */
// SPDX-License-Identifier: Apache-2.0

/** @type {Record<string, any>} */
const values = { sheet: null, outline: null, job: null, schema: null, work: null, ended: null, selected: null, picked: [],
  photo: null, photoNumber: 1, lookInTable: false, connected: true, refused: null, unit: "mm" };
/** @type {{names: string[], listener: () => void}[]} */
const listeners = [];

/** @param {string} name @returns {any} */
export function read(name) {
  return values[name];
}

/** An answer or event that was overtaken by a later one on its way. @param {any} sheet */
export const isOld = (sheet) => Boolean(sheet && values.sheet && sheet.turn < values.sheet.turn);

/** Replaces values and tells whoever asked for one of them. @param {Record<string, any>} changes */
export function write(changes) {
  const isNews = (name) => values[name] !== changes[name] && !(name === "sheet" && isOld(changes.sheet));
  const changed = Object.keys(changes).filter(isNews);
  for (const name of changed) values[name] = changes[name];
  for (const { names, listener } of [...listeners]) {
    if (names.some((name) => changed.includes(name))) listener();
  }
}

/** Calls listener now and whenever one of the names changes. @param {string[]} names @param {() => void} listener */
export function subscribe(names, listener) {
  listeners.push({ names, listener });
  listener();
}

/**
 * Calls show with the stamp of what a station shows (null: not made) now and whenever it changes.
 * @param {"photo" | "outline" | "pieces" | "findings" | "release"} station @param {(stamp: string | null) => void} show
 */
export function whenStationChanges(station, show) {
  /** @type {string | null | undefined} */
  let last;
  subscribe(["sheet"], () => {
    const sheet = values.sheet;
    if (!sheet) return;
    const now = sheet.stations[station] ?? null;
    if (now === last) return;
    last = now;
    show(now);
  });
}

/** @param {string} station @returns {"none" | "made" | "outdated"} what stands at a station */
export function stationState(station) {
  const sheet = values.sheet;
  if (!sheet || !sheet.stations[station]) return "none";
  return sheet.outdated.includes(station) ? "outdated" : "made";
}

/** Rows of a table of the job ([] when it has none), or the one row of a table that does not repeat. @param {string} table */
export function jobRows(table) {
  const found = (values.job || {})[table];
  if (found === undefined || found === null) return [];
  return Array.isArray(found) ? found : [found];
}
