/**
 * One photograph from a phone to the computer.  The key comes in the address, is used for this one request and taken out of it.
 */
// SPDX-License-Identifier: Apache-2.0

const key = new URLSearchParams(window.location.hash.slice(1)).get("key") || "";
window.history.replaceState(null, "", window.location.pathname);
const input = /** @type {HTMLInputElement} */ (document.getElementById("photo"));
const word = /** @type {HTMLElement} */ (document.getElementById("word"));

/** @param {File} file */
async function send(file) {
  const answer = await fetch(`/phone/api/photo?name=${encodeURIComponent(file.name)}`, {
    method: "POST", body: file, headers: { "X-Afterpart-Key": key, "Content-Type": "application/octet-stream" } });
  const said = await answer.json();
  return { ok: answer.ok, text: [said.message, said.way_out].filter(Boolean).join(" ") };
}

input.addEventListener("change", async () => {
  const file = input.files && input.files[0];
  if (!file) return;
  input.disabled = true;
  word.textContent = "Sending ...";
  try {
    const { ok, text } = await send(file);
    word.textContent = text;
    input.disabled = ok;
  } catch {
    word.textContent = "The computer does not answer. Are both on the same network?";
    input.disabled = false;
  }
});
