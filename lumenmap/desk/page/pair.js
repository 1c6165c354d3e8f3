// Sends the code that was typed; the answer sets a cookie that no script can read.
const form = /** @type {HTMLFormElement} */ (document.getElementById("form"));
const code = /** @type {HTMLInputElement} */ (document.getElementById("code"));
const said = /** @type {HTMLElement} */ (document.getElementById("said"));

form.addEventListener("submit", async event => {
  event.preventDefault();
  said.textContent = "…";
  try {
    const answer = await fetch("/pair", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ code: code.value }),
    });
    if (answer.ok) location.replace("/");
    else said.textContent = await answer.text();
  } catch {
    said.textContent = "The desk doesn't answer. Is it running, and is this device on the home network?";
  }
});
