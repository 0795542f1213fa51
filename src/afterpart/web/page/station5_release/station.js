/**
 * Station 5, release: trials first, then the folder for others, looked at in the page, taken as one zip, held against its
 * manifest; variants of the job side by side.
 */
// SPDX-License-Identifier: Apache-2.0
import { edit, get, work } from "../api.js";
import { attempt, button, el, newId, show } from "../dom.js";
import { at, field, tableOf } from "../fields.js";
import { isBusy, progressBox } from "../progress.js";
import { read, stationState, subscribe, whenStationChanges } from "../state.js";
import { comparing } from "./comparing.js";
import { plateBox } from "./plate.js";
import { releaseView } from "./release_view.js";
import { trials } from "./trials.js";

/** What stands on the papers: [table, key]; the job's own keys have no table. */
const ON_THE_PAPERS = [["", "name"], ["", "revision"], ["", "date"], ["release", "author"], ["release", "licence"], ["release",
  "page"],
  ["release", "units"], ["release", "reports"]];

/** @param {HTMLElement} body */
export function mount(body) {
  const made = el("div", {});
  const fault = el("p", { class: "fault", role: "alert" });
  const papers = el("div", { class: "box" });
  const proofs = el("div", { class: "columns" });
  let built = false;
  subscribe(["schema"], () => {
    if (built || !read("schema")) return;
    built = true;
    show(papers, el("h3", { text: "What stands on the papers" }), paperFields());
    show(proofs, plateBox(), trials());
  });
  const since = sinceChoice();
  show(body, proofs, papers, releaseBar(since), fault, made, comparing());
  let before = "";
  whenStationChanges("release", async (stamp) => {
    if (stamp === null) {
      before = "";
      since.offer([]);
      show(made, el("p", { class: "word", text: "The folder for others appears here once it is made." }));
      return;
    }
    await attempt(fault, async () => {
      const { releases } = await get("/api/release");
      const now = JSON.stringify(releases);
      since.offer(releases);
      if (now === before) return;
      before = now;
      show(made, ...(releases.length ? [releaseView(releases)] : []));
    });
  });
}

function paperFields() {
  const fields = ON_THE_PAPERS.map(([table, key]) => {
    const shape = tableOf(table);
    const found = shape && shape.keys.find((one) => one.key === key);
    const made = found && field(found, (value) => edit([value === null ? { do: "remove", at: at(table, key) }
      : { do: "set", at: at(table, key), value }]));
    return { table, key, made };
  }).filter(({ made }) => made);
  subscribe(["job", "unit"], () => {
    const job = read("job") || {};
    for (const { table, key, made } of fields) made.refresh((table ? job[table] || {} : job)[key]);
  });
  return el("div", { class: "fields" }, ...fields.map(({ made }) => made.node));
}

/** Which earlier release the next one is compared with: what changed since stands on its papers. */
function sinceChoice() {
  const id = newId("since");
  const select = /** @type {HTMLSelectElement} */ (el("select", { id }));
  const node = /** @type {HTMLElement} */ (el("span", { class: "since", hidden: true }, el("label", { for: id,
    text: "Tell what changed since" }), select));
  let releases = [];
  const fill = () => {
    const revision = (read("sheet") || {}).revision;
    const earlier = releases.filter((one) => one.revision !== revision);
    const chosen = select.value;
    show(select, el("option", { value: "", text: "the revision before" }), ...earlier.map((one) => el("option", { value: one.name,
      text: `${one.name}${one.date ? `, ${one.date}` : ""}` })));
    if (earlier.some((one) => one.name === chosen)) select.value = chosen;
    node.hidden = !earlier.length;
  };
  subscribe(["sheet"], fill);
  return { node, value: () => select.value, offer: (found) => { releases = found; fill(); } };
}

/**
 * The button that makes the release, and what must be known before it is pressed.
 * @param {ReturnType<typeof sinceChoice>} since
 */
function releaseBar(since) {
  const fault = el("p", { class: "fault", role: "alert" });
  const said = el("p", { class: "hint" });
  const press = /** @type {HTMLButtonElement} */ (button("Make the release", () => attempt(fault,
    () => work("release", since.value() ? { since: since.value() } : {}))));
  subscribe(["sheet", "work"], () => {
    const state = stationState("release");
    const sheet = read("sheet");
    press.disabled = isBusy() || !sheet || !sheet.has_job;
    said.textContent = state === "outdated"
      ? "The job has changed since the last release. Give it the next revision: a release is never overwritten."
      : state === "made" ? "This revision is released. For another one, change the revision first."
        : sheet && sheet.has_job ? "Everything that is not measured, built and judged yet is done first. It takes a few minutes."
          : "";
    said.classList.toggle("late", state === "outdated");
  });
  return el("div", { class: "build-bar" }, el("div", { class: "row" }, press, since.node, said), progressBox(["release"]),
    fault);
}
