/**
 * Builds what is shipped: `node build.mjs` bundles the sources here into ../built, which is kept with the project, so that
 * nobody who uses it needs this.  It writes index.html, icon.svg, sheet.css (sheet.css, then every station's own), app.js,
 * pieces3d.js (loaded when station 3 needs it), notices.txt (the licences of the libraries inside) and sources.sha256 (what it
 * was built from; a test of the house holds it against the sources).  The lock keeps versions and hashes, no address.
 */
// SPDX-License-Identifier: Apache-2.0
import { createHash } from "node:crypto";
import { mkdir, readFile, readdir, rm, writeFile } from "node:fs/promises";
import { existsSync } from "node:fs";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const HERE = path.dirname(fileURLToPath(import.meta.url));
const BUILT = path.join(HERE, "..", "built");
const ENTRIES = { app: "main.js", pieces3d: "station3_pieces/pieces3d.js" };
const COPIES = ["index.html", "icon.svg"];
const LIBRARIES = ["openseadragon", "three"];
const LICENCE_FILES = ["LICENSE", "LICENSE.txt", "LICENSE.md"];
const KINDS = [".js", ".mjs", ".css", ".html", ".json", ".svg"];

/** @param {string} folder @returns {Promise<string[]>} source files below it, sorted, with forward slashes */
async function sources(folder = "") {
  const found = [];
  for (const entry of await readdir(path.join(HERE, folder), { withFileTypes: true })) {
    const name = folder ? `${folder}/${entry.name}` : entry.name;
    if (entry.isDirectory() && entry.name !== "node_modules") found.push(...await sources(name));
    else if (entry.isFile() && KINDS.includes(path.extname(entry.name))) found.push(name);
  }
  return found.sort();
}

/** @param {string} library */
async function notice(library) {
  const folder = path.join(HERE, "node_modules", library);
  const { name, version, license } = JSON.parse(await readFile(path.join(folder, "package.json"), "utf8"));
  const file = LICENCE_FILES.map((each) => path.join(folder, each)).find(existsSync);
  const text = (await readFile(file, "utf8")).replace(/\r\n/g, "\n").replace(/https?:\/\/\S+/g, "").trim();
  return `${name} ${version} (${license})\n\n${text}\n`;
}

/** The lock without the addresses some packages add for themselves. */
async function cleanLock() {
  const file = path.join(HERE, "package-lock.json");
  const lock = JSON.parse(await readFile(file, "utf8"));
  for (const entry of Object.values(lock.packages)) {
    delete entry.funding;
    delete entry.resolved;
  }
  await writeFile(file, `${JSON.stringify(lock, null, 2)}\n`);
}

/**
 * Takes out of the picture viewer what this page never does (a style written into the page, addresses of other services), and
 * lets it rest: it asks for the next frame only until viewer.mayRest() says so, and again after viewer.wake().
 */
const plainViewer = {
  name: "plain-viewer",
  setup(bundler) {
    bundler.onLoad({ filter: /openseadragon\.js$/ }, async ({ path: file }) => {
      const text = await readFile(file, "utf8");
      const asks = "!document.querySelector('style[data-openseadragon-mobile-css]')";
      if (!text.includes(asks)) throw new Error("the viewer's style is not where it was: look at the library anew");
      const runs = "if ( viewer.isOpen() ) {\n        viewer._updateRequestId = scheduleUpdate( viewer, updateMulti );";
      if (text.split(runs).length !== 2) throw new Error("the viewer's frames are not where they were: look at the library anew");
      const rests = `viewer.wake = () => {
        if (!viewer._updateRequestId && viewer.isOpen()) viewer._updateRequestId = scheduleUpdate(viewer, updateMulti);
      };
      ${runs.replace("viewer.isOpen()", "viewer.isOpen() && !(viewer.mayRest && viewer.mayRest())")}`;
      return { contents: text.replace(asks, "false").replace(runs, rests).replace(/https?:\/\/[\w.-]+/g, ""), loader: "js" };
    });
  },
};

await cleanLock();
await rm(BUILT, { recursive: true, force: true });
await mkdir(BUILT, { recursive: true });
const entryPoints = Object.fromEntries(Object.entries(ENTRIES).filter(([, file]) => existsSync(path.join(HERE, file))));
await build({ absWorkingDir: HERE, entryPoints, outdir: BUILT, bundle: true, format: "esm", target: "es2022", minify: true,
  legalComments: "none", plugins: [plainViewer], external: ["/pieces3d.js"], logLevel: "warning" });
for (const name of COPIES) {
  if (existsSync(path.join(HERE, name))) await writeFile(path.join(BUILT, name), await readFile(path.join(HERE, name)));
}
const styles = (await sources()).filter((name) => name.endsWith(".css")).sort((a, b) => Number(a.includes("/")) - Number(
  b.includes("/")));
await writeFile(path.join(BUILT, "sheet.css"), (await Promise.all(styles.map((name) => readFile(path.join(HERE, name),
  "utf8")))).join("\n"));
await writeFile(path.join(BUILT, "notices.txt"),
  `The page holds these libraries, each under its own licence. Addresses of services are taken out of the first.\n\n${
  (await Promise.all(LIBRARIES.map(notice))).join(`\n${"-".repeat(80)}\n\n`)}`);
const lines = await Promise.all((await sources()).map(async (name) =>
  `${createHash("sha256").update(await readFile(path.join(HERE, name))).digest("hex")}  ${name}\n`));
await writeFile(path.join(BUILT, "sources.sha256"), lines.join(""));
