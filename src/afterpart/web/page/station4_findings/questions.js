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

/** @param {{key: string, text: string}} asked */
export function question({ key, text }) {
  const words = el("p", { text });
  const [table, ...rest] = key.split(".");
  const shape = tableOf(table);
  const home = ELSEWHERE[table];
  if (home) return el("div", { class: "question" }, words, el("p", {}, el("a", { href: home[0], text: home[1] })));
  if (!shape) return el("div", { class: "question" }, words);
  if (shape.repeats) return el("div", { class: "question" }, words, rowTable(table));
  const found = shape.keys.find((one) => one.key === rest.join("."));
  if (!found) return el("div", { class: "question" }, words);
  const made = field(found, (value) => edit([value === null ? { do: "remove", at: key } : { do: "set", at: key, value }]),
    { label: `${table}: ${keyWords(found.key)}` });
  made.refresh(((read("job") || {})[table] || {})[found.key]);
  return el("div", { class: "question" }, words, made.node);
}
