/**
 * A question of the report with the field that answers it, right there.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit } from "../api.js";
import { el } from "../dom.js";
import { field, keyWords, tableOf } from "../fields.js";
import { rowTable } from "../row_table.js";
import { read } from "../state.js";

const ELSEWHERE = { height: ["#dimensions", "To the heights at station 2"], reading: ["#dimensions", "To the table at station 2"],
  trial: ["#trials", "To the trials at station 5"] };

/** @param {{key: string, keys?: string[], text: string}} asked keys: all it asks for, where that is more than one */
export function question({ key, keys, text }) {
  return el("div", { class: "question" }, el("p", { text }), ...(keys || [key]).map(answer));
}

/** What answers for one key: its field, or the way to where it is asked. @param {string} key */
function answer(key) {
  const [table, ...rest] = key.split(".");
  const shape = tableOf(table);
  const home = ELSEWHERE[table];
  if (home) return el("p", {}, el("a", { href: home[0], text: home[1] }));
  if (!shape) return null;
  if (shape.repeats) return rowTable(table);
  const found = shape.keys.find((one) => one.key === rest.join("."));
  if (!found) return null;
  const made = field(found, (value) => edit([value === null ? { do: "remove", at: key } : { do: "set", at: key, value }]),
    { label: `${table}: ${keyWords(found.key)}` });
  made.refresh(((read("job") || {})[table] || {})[found.key]);
  return made.node;
}
