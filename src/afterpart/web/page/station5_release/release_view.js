/**
 * One release: looked at (drawing, inspection sheet, guide, findings, read me), its files with their purposes, the zip, and
 * whether it is as its manifest says.
 */
// SPDX-License-Identifier: Apache-2.0
import { download, getBlob, getBlobUrl, work } from "../api.js";
import { attempt, button, el, folded, show } from "../dom.js";
import { isBusy, progressBox } from "../progress.js";
import { read, subscribe } from "../state.js";
import { guidePaper } from "./guide_paper.js";

/** What is worth looking at first: [path in the folder, words]. */
const TO_LOOK_AT = [["drawing.pdf", "Drawing"], ["inspection.pdf", "Inspection sheet"], ["guide.html", "Guide and cautions"],
  ["findings.pdf", "Findings"], ["README.md", "Read me"], ["parts_list.csv", "Parts list"],
  ["print_settings.txt", "Print settings"], ["sources.md", "Sources"]];

/** @param {number} bytes */
function sizeWords(bytes) {
  if (bytes < 1024) return `${bytes} B`;
  return bytes < 1024 ** 2 ? `${(bytes / 1024).toFixed(0)} kB` : `${(bytes / 1024 ** 2).toFixed(1)} MB`;
}

/** @param {any[]} releases the newest last */
export function releaseView(releases) {
  const box = el("div", { class: "release" });
  const choices = releases.length > 1 ? el("div", { class: "row", role: "group", "aria-label": "Which release" }) : null;
  const open = (release) => {
    if (choices) for (const one of choices.querySelectorAll("button")) one.setAttribute("aria-pressed",
      String(one.textContent === release.name));
    show(box, oneRelease(release));
  };
  if (choices) choices.append(...releases.map((release) => button(release.name, () => open(release),
    { class: "button quiet small", "aria-pressed": "false" })));
  open(releases[releases.length - 1]);
  return el("section", { class: "releases", "aria-label": "Releases" }, choices, box);
}

/** @param {any} release */
function oneRelease(release) {
  const fault = el("p", { class: "fault", role: "alert" });
  const paper = el("div", { class: "paper", id: "paper" });
  const path = (file) => `/api/file/release/${[release.name, ...file.split("/")].map(encodeURIComponent).join("/")}`;
  const there = new Set(release.files.map((file) => file.path));
  const tabs = el("div", { class: "row", role: "group", "aria-label": "Papers of the release" });
  const look = (file, words) => attempt(fault, async () => {
    for (const one of tabs.querySelectorAll("button")) one.setAttribute("aria-pressed", String(one.textContent === words));
    show(paper, el("p", { class: "hint", text: "Opening ..." }));
    show(paper, await paperOf(path(file), file, words));
  });
  tabs.append(...TO_LOOK_AT.filter(([file]) => there.has(file)).map(([file, words]) =>
    button(words, () => look(file, words), { class: "button quiet small", "aria-pressed": "false" })));
  const zip = release.zip ? button(`Take it all: ${release.zip}`, () => attempt(fault, () =>
    download(`/api/file/release/${encodeURIComponent(release.zip)}`, release.zip))) : null;
  const files = folded(`Every file and what it is for (${release.files.length})`, el("div", { class: "table-frame" }, el("table",
    {},
    el("thead", {}, el("tr", {}, el("th", { scope: "col", text: "File" }), el("th", { scope: "col", text: "For" }),
      el("th", { scope: "col", class: "number", text: "Size" }))), el("tbody", {}, ...release.files.map((file) => el("tr", {},
      el("td", {}, button(file.path, () => attempt(fault, () => download(path(file.path), file.path.split("/").pop())),
        { class: "button quiet small" })),
      el("td", { text: file.purpose }), el("td", { class: "number", text: sizeWords(file.size) })))))));
  return el("div", {}, el("h3", { text: release.name }), el("div", { class: "row" }, zip, ...verifying(release.name, fault)),
    fault, tabs, paper, files);
}

/** A paper as something to look at. @param {string} path @param {string} file @param {string} words */
async function paperOf(path, file, words) {
  if (file.endsWith(".html")) return guidePaper(await (await getBlob(path)).text(), words);
  if (!file.endsWith(".pdf")) return el("pre", { class: "plain-text", tabindex: "0", "aria-label": words,
    text: await (await getBlob(path)).text() });
  const url = await getBlobUrl(path);
  const frame = el("iframe", { class: "paper-frame", src: `${url}#navpanes=0&view=FitH`, title: words });
  const blank = navigator.pdfViewerEnabled === false ? el("p", { class: "note" }, el("span", { class: "mark",
    "aria-hidden": "true", text: "!" }),
    "This browser shows no PDF inside a page: take the file and open it.") : null;
  return el("div", {}, blank, blank ? null : frame, el("div", { class: "row" }, el("a", { href: url, target: "_blank",
    rel: "noopener", text: "In a tab of its own" }),
    el("a", { href: url, download: file.split("/").pop(), text: `Take ${file}` })));
}

/**
 * The button that holds a release against its manifest, the list of what was released, and what came of it.
 * @param {string} name @param {Element} fault
 */
function verifying(name, fault) {
  const said = el("p", { class: "word", role: "status" });
  let mine = "";
  const press = /** @type {HTMLButtonElement} */ (button("Check that no file was changed", () => attempt(fault, async () => {
    show(said);
    mine = await work("verify", { release: name });
    outcome();  // it may have ended before it was known which work it is
  }), { class: "button quiet" }));
  const outcome = () => {
    const now = read("work");
    if (!now || now.id !== mine || now.state !== "done" || !now.result) return;
    const { count, sha256, differences } = now.result;
    show(said, ...(differences.length ? [el("span", { class: "verdict fails", text: "not as released" }),
      ` ${differences.join("; ")}`]
      : [el("span", { class: "verdict passes", text: "as released" }), ` all ${count} files; SHA-256 of the manifest: `,
        el("code", { text: sha256 })]));
  };
  subscribe(["work"], () => {
    press.disabled = isBusy();
    outcome();
  });
  return [press, progressBox(["verify"]), said];
}
