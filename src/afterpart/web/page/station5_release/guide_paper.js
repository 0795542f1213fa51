/**
 * The assembly guide shown in the page: its own text, tables and pictures set anew inside a shadow root, so that its look
 * stays its own and nothing in it can run.
 *
 * The page's policy lets no style or picture stand in a foreign document; so the guide is read, only known elements are taken
 * over, its style sheet is adopted, its pictures become blobs of this page.
 */
// SPDX-License-Identifier: Apache-2.0
import { el } from "../dom.js";

const KNOWN = new Set(["A", "B", "BODY", "BR", "CAPTION", "CODE", "DIV", "EM", "FIGCAPTION", "FIGURE", "FOOTER", "H1", "H2", "H3",
  "H4", "HEADER",
  "IMG", "INPUT", "LABEL", "LI", "MAIN", "NAV", "OL", "P", "PRE", "SECTION", "SMALL", "SPAN", "STRONG", "SUB", "SUP", "TABLE",
    "TBODY", "TD", "TFOOT",
  "TH", "THEAD", "TR", "UL"]);
/** Landmarks of a page of its own: here they are parts of another one. */
const PLAIN = new Set(["BODY", "FOOTER", "HEADER", "MAIN", "NAV"]);
const STYLE_SHEET = /<style>([^<]*)<\/style>/g;
const STYLE_ATTRIBUTE = /\sstyle="[^"]*"/g;
const KEPT = ["class", "id", "alt", "colspan", "rowspan", "scope", "width", "height"];

/** @param {string} text the guide's HTML @param {string} words its name */
export function guidePaper(text, words) {
  const styles = [...text.matchAll(STYLE_SHEET)].map((found) => found[1]).join("\n");
  // even a document that is only read may hold no style of its own under the page's policy
  const read = new DOMParser().parseFromString(text.replace(STYLE_SHEET, "").replace(STYLE_ATTRIBUTE, " "), "text/html");
  const host = el("div", { class: "guide", tabindex: "0", role: "document", "aria-label": words });
  const root = host.attachShadow({ mode: "open" });
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(styles.replace(/\bbody\b(?=\s*\{)/g, ".guide-body").replaceAll(":root", ":host")
    + "\n.frame > h2:first-child { border: 0; margin: 0; padding: 0; }");
  root.adoptedStyleSheets = [sheet];
  const body = takenOver(read.body, root);
  body.className = "guide-body";
  root.append(body);
  return host;
}

/** The same element with what is known of it. @param {Element} from @param {ShadowRoot} root @returns {HTMLElement} */
function takenOver(from, root) {
  const node = document.createElement(PLAIN.has(from.tagName) ? "div" : from.tagName);
  for (const name of KEPT) if (from.hasAttribute(name)) node.setAttribute(name, from.getAttribute(name) || "");
  const link = from.getAttribute("href") || "";
  if (node instanceof HTMLAnchorElement && link.startsWith("#")) {
    node.setAttribute("href", link);
    node.addEventListener("click", (event) => {
      event.preventDefault();
      const aim = root.getElementById(link.slice(1));
      if (aim) aim.scrollIntoView();
    });
  }
  if (node instanceof HTMLInputElement) node.type = "checkbox";
  if (node instanceof HTMLImageElement) node.src = pictureUrl(from.getAttribute("src") || "");
  for (const child of from.childNodes) {
    if (child instanceof Text || child.nodeType === Node.TEXT_NODE) node.append(child.textContent || "");
    else if (child.nodeType === Node.ELEMENT_NODE && KNOWN.has(/** @type {Element} */ (child).tagName)) {
      node.append(takenOver(/** @type {Element} */ (child), root));
    }
  }
  return node;
}

/** A picture that stands in the text, as a blob of this page; anything else is left empty. @param {string} source */
function pictureUrl(source) {
  const found = /^data:(image\/(?:png|jpeg));base64,([A-Za-z0-9+/=\s]+)$/.exec(source);
  if (!found) return "";
  const bytes = Uint8Array.from(atob(found[2]), (letter) => letter.charCodeAt(0));
  return URL.createObjectURL(new Blob([bytes], { type: found[1] }));
}
