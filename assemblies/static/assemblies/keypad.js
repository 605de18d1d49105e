/* Big keys for the number that the control shows. Without this script the field is typed into.
 *
 * The pad starts empty and hints at nothing: the number is to be read off the control.
 */
"use strict";

document.querySelectorAll("[data-keypad]").forEach((pad) => {
  const field = document.getElementById(pad.dataset.keypad);
  pad.hidden = false;
  field.inputMode = "none"; // two keypads on one phone would hide the button

  pad.addEventListener("click", (event) => {
    const { digit, clear } = event.target.dataset;
    if (clear !== undefined) {
      field.value = "";
    } else if (digit !== undefined && field.value.length < field.maxLength) {
      field.value += digit;
    }
  });
});
