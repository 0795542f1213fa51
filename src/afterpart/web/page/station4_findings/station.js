/**
 * Station 4, findings: the headline, the three things to do, the questions with their fields, every finding worst first, what
 * could come loose and where it would get to, the failure-mode table, the cautions.
 */
// SPDX-License-Identifier: Apache-2.0
import { get, work } from "../api.js";
import { attempt, button, el, folded, show } from "../dom.js";
import { isBusy, progressBox } from "../progress.js";
import { tableSetting } from "../setting.js";
import { read, stationState, subscribe, whenStationChanges } from "../state.js";
import { changeNode, findingRow } from "./finding_row.js";
import { failureModes } from "./failure_modes.js";
import { passages } from "./passages.js";
import { question } from "./questions.js";

const GROUPS = [["fails", "Fails"], ["not judged", "Could not be judged"], ["attention", "Wants attention"], ["passes",
  "Passes"]];
/** What the checks must know, each with the keys shown even where the job leaves them out. @type {[string, string[]][]} */
const KNOWING = [["machine", ["kind", "speed_rpm"]], ["service", ["temperature_c", "place", "exposed"]], ["fit",
  ["wanted_share"]]];
const OPEN_AT_FIRST = ["fails", "not judged"];

/** @param {HTMLElement} body */
export function mount(body) {
  const made = el("div", {});
  const fault = el("p", { class: "fault", role: "alert" });
  const knowing = el("div", {});
  show(body, knowing, judgeBar(), fault, made);
  let built = false;
  subscribe(["schema"], () => {
    if (built || !read("schema")) return;
    built = true;
    show(knowing, el("h3", { text: "What the checks must know" }), el("div", { class: "setting-list" },
      ...KNOWING.map(([name, first]) => tableSetting(name, first, true))));
  });
  whenStationChanges("findings", async (stamp) => {
    if (stamp === null) {
      show(made, el("p", { class: "word", text: "What the checks say appears here once the pieces are judged." }));
      return;
    }
    await attempt(fault, async () => {
      const report = await get("/api/findings");
      show(made, ...reportNodes(report));
    });
  });
}

/** @param {any} report GET /api/findings */
function reportNodes(report) {
  const declined = (report.cautions || []).filter((caution) => caution.declined);
  return [el("p", { class: "headline", role: "status", text: report.headline }),
    ...declined.map((caution) => el("p", { class: "fault" }, el("span", { class: "mark", "aria-hidden": "true", text: "!" }),
      caution.text)),
    el("div", { class: "columns asks" },
      report.actions.length ? el("section", { class: "box" }, el("h3", { text: "To do first" }),
        el("ol", {}, ...report.actions.map((text) => actionRow(text, report.findings)))) : null,
      report.questions.length ? el("section", { class: "box" }, el("h3", { text: "What would settle most" }),
        ...report.questions.map(question)) : null),
    findingList(report.findings),
    passages(report.passages || []),
    failureModes(report.failure_modes || []),
    cautions(report.cautions || [])];
}

/**
 * One of the three things to do, with the button of the first finding it mends.
 * @param {string} text @param {any[]} findings
 */
function actionRow(text, findings) {
  const asks = (finding) => finding.suggestions.some((one) => text.startsWith(`Set ${one.key} to `));
  const found = findings.find((finding) => asks(finding) && finding.change) || findings.find(asks)
    || findings.find((finding) => text.endsWith(finding.advice));
  const jump = found ? button("See the finding", () => openFinding(found), { class: "button quiet small" }) : null;
  const doing = !found || !asks(found) ? null : found.change ? changeNode(found)
    : el("p", { class: "hint", text: "Not by one change of the job alone: the finding says what stands against it." });
  return el("li", {}, el("p", { text }), doing, jump);
}

/** @param {any} finding */
function openFinding(finding) {
  const row = /** @type {HTMLDetailsElement | null} */ (document.getElementById(findingId(finding)));
  if (!row) return;
  const group = row.closest("details.finding-group");
  if (group) group.setAttribute("open", "");
  row.open = true;
  row.scrollIntoView({ block: "center" });
  row.querySelector("summary").focus();
}

/** @param {any} finding */
function findingId(finding) {
  return `finding-${finding.check}-${finding.subject}`.replace(/[^\w-]+/g, "-");
}

/** @param {any[]} findings worst first */
function findingList(findings) {
  const groups = GROUPS.map(([verdict, words]) => [verdict, words, findings.filter((finding) => finding.verdict === verdict)])
    .filter(([, , list]) => list.length);
  return el("section", { class: "finding-list", "aria-label": "Findings, worst first" }, ...groups.map(([verdict, words, list]) =>
    el("details", { class: "finding-group", open: OPEN_AT_FIRST.includes(verdict) },
      el("summary", {}, el("h3", {}, el("span", { class: `verdict ${verdict.replace(" ", "-")}`, text: words }),
        el("span", { class: "soft", text: ` ${list.length}` }))),
      ...list.map((finding) => findingRow(finding, findingId(finding))))));
}

/** @param {any[]} told */
function cautions(told) {
  if (!told.length) return null;
  return folded(`Cautions (${told.length})`, el("ul", { class: "cautions" }, ...told.map((caution) =>
    el("li", {}, el("strong", { text: `${caution.danger}: ` }), caution.text))));
}

/** The button that judges, and what must be known before it is pressed. */
function judgeBar() {
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "hint" });
  const press = /** @type {HTMLButtonElement} */ (button("Judge the pieces", () => attempt(fault, () => work("check"))));
  subscribe(["sheet", "work"], () => {
    const state = stationState("findings");
    const sheet = read("sheet");
    press.disabled = isBusy() || !sheet || !sheet.has_job;
    press.textContent = state === "none" ? "Judge the pieces" : "Judge again";
    said.textContent = state === "outdated" ? "The job has changed since: these findings are those of before."
      : state === "none" && sheet && sheet.has_job ? "What is not measured and built yet is done first." : "";
    said.classList.toggle("late", state === "outdated");
  });
  return el("div", { class: "build-bar" }, el("div", { class: "row" }, press, said), progressBox(["check"]), fault);
}
