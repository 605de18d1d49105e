/* Answers over a bad network. Without this script each form is sent as forms always are.
 *
 * A form marked `data-answer` is sent by the script. When nothing comes back, the page says that
 * nothing is recorded yet and sends the same form again on a tap: it carries the same one-time
 * id, so an answer that only got lost on its way back counts once.
 */
"use strict";

(() => {
  const NO_ANSWER_MS = 8000; // so long a person waits before looking at the network

  function say(form, sendAgain) {
    let note = form.querySelector("[data-no-answer]");
    if (!note) {
      note = document.createElement("div");
      note.className = "message error no-answer";
      note.dataset.noAnswer = "";
      note.setAttribute("role", "alert");
      const text = document.createElement("p");
      text.textContent = "Not recorded yet – no answer.";
      const button = document.createElement("button");
      button.type = "button";
      button.className = "button";
      button.textContent = "Send again";
      button.addEventListener("click", sendAgain);
      note.append(text, button);
      form.append(note);
    }
    note.hidden = false;
    note.scrollIntoView({ block: "nearest" });
  }

  function hush(form) {
    const note = form.querySelector("[data-no-answer]");
    if (note) {
      note.hidden = true;
    }
  }

  // Recorded: on to the page that says so. Refused: the page of this address, as it came.
  async function show(answer) {
    if (answer.redirected) {
      window.location.assign(answer.url);
      return;
    }
    const page = await answer.text();
    // Without its fragment: the browser would scroll to the form again, past the answer.
    window.history.replaceState(null, "", window.location.pathname + window.location.search);
    document.open();
    document.write(page);
    document.close();
    window.scrollTo(0, 0);
  }

  function send(form, data) {
    const again = () => send(form, data);
    const waiting = setTimeout(() => say(form, again), NO_ANSWER_MS);
    hush(form);
    fetch(form.action, { method: "POST", body: data, credentials: "same-origin" })
      .then(show)
      .catch(() => say(form, again))
      .finally(() => clearTimeout(waiting));
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || !form.matches("form[data-answer]")) {
      return;
    }
    event.preventDefault();
    const data = new URLSearchParams(new FormData(form, event.submitter));
    send(form, data);
  });
})();
