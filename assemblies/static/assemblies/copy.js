/* A button that copies a text of the page. Without this script the text is selected by hand. */
"use strict";

document.querySelectorAll("[data-copy]").forEach((button) => {
  // Browsers lend the clipboard to pages over https and on the computer itself only.
  if (!navigator.clipboard) {
    return;
  }
  button.hidden = false;
  button.addEventListener("click", async () => {
    await navigator.clipboard.writeText(document.getElementById(button.dataset.copy).textContent);
    button.textContent = "Copied";
  });
});
