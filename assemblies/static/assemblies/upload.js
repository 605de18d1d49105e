/* Handing a program in: drop it on the page, see what it would be called, see how much is sent.
 *
 * Without this script the page is a plain form. With it a refused sending keeps the picked file, and
 * a sending that broke off can be sent again: its one-time number makes it count once.
 */
"use strict";

(() => {
  const HEAD_BYTES = 65536; // so much of a file tells its name
  const PAUSE_MS = 400; // after the last letter typed, before the server is asked

  let form = document.querySelector("form[data-upload]");
  if (!form) {
    return;
  }
  let sending = false;
  let asked = 0; // only the last question's answer counts
  let timer = 0;
  const typed = new Set(); // fields that a person filled in

  const part = (mark) => form.querySelector(`[data-${mark}]`);
  const megabytes = (bytes) => (bytes / 1e6).toFixed(1);
  const say = (text) => (part("said").textContent = text);
  const file = () => form.elements.file.files[0];

  function keepTyped() {
    for (const name of ["name", "label", "title"]) {
      if (form.elements[name].value) {
        typed.add(name);
      }
    }
  }

  // --- what it would be called --------------------------------------------------------------

  async function propose() {
    const number = ++asked;
    const data = new FormData();
    const source = file() || new Blob([form.elements.pasted.value]);
    data.append("head", source.slice(0, HEAD_BYTES), "head");
    data.append("file_name", file() ? file().name : "");
    data.append("name", typed.has("name") ? form.elements.name.value : "");
    data.append("csrfmiddlewaretoken", form.elements.csrfmiddlewaretoken.value);
    let proposal;
    try {
      const answer = await fetch(form.dataset.proposal, { method: "POST", body: data });
      proposal = await answer.json();
    } catch {
      return; // no proposal; the form takes what is typed
    }
    if (number === asked) {
      show(proposal);
    }
  }

  function show(proposal) {
    for (const name of ["name", "label", "title"]) {
      if (!typed.has(name)) {
        form.elements[name].value = proposal[name];
      }
    }
    part("proposed").textContent = proposal.refused || proposal.said;
  }

  function picked() {
    say("");
    const most = Number(form.dataset.largestBytes);
    if (file() && file().size > most) {
      say(`${file().name} has ${megabytes(file().size)} MB; ${megabytes(most)} MB is the most.`);
      return;
    }
    if (file() || form.elements.pasted.value.trim()) {
      propose();
    }
  }

  document.addEventListener("input", (event) => {
    const { name } = event.target;
    if (event.target.form !== form) {
      return;
    }
    if (["name", "label", "title"].includes(name)) {
      event.target.value ? typed.add(name) : typed.delete(name);
    }
    if (["name", "pasted"].includes(name)) {
      clearTimeout(timer);
      timer = setTimeout(picked, PAUSE_MS);
    }
  });
  document.addEventListener("change", (event) => {
    if (event.target === form.elements.file) {
      picked();
    }
  });

  // --- drop -----------------------------------------------------------------------------------

  const holdsFiles = (event) => [...event.dataTransfer.types].includes("Files");

  document.addEventListener("dragover", (event) => {
    if (holdsFiles(event)) {
      event.preventDefault();
      form.parentElement.classList.add("is-over");
    }
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) {
      form.parentElement.classList.remove("is-over");
    }
  });
  document.addEventListener("drop", (event) => {
    if (!holdsFiles(event)) {
      return;
    }
    event.preventDefault();
    form.parentElement.classList.remove("is-over");
    if (sending) {
      return;
    }
    if (event.dataTransfer.files.length > 1) {
      say("One file at a time: drop the program alone.");
      return;
    }
    form.elements.file.files = event.dataTransfer.files;
    picked();
  });

  // --- sending --------------------------------------------------------------------------------

  function send() {
    const request = new XMLHttpRequest();
    const bar = part("progress").querySelector("progress");
    let sent = 0;
    sending = true;
    form.querySelector("[type=submit]").setAttribute("aria-disabled", "true");
    part("progress").hidden = false;
    request.upload.onprogress = ({ loaded, total }) => {
      sent = loaded;
      bar.value = total ? (100 * loaded) / total : 0;
      say(`${megabytes(loaded)} of ${megabytes(total)} MB sent`);
    };
    request.upload.onload = () => say("All sent. The program is being read.");
    request.onload = () => answered(request);
    request.onerror = request.onabort = () => {
      stop();
      say(`The connection broke off at ${megabytes(sent)} MB. Send it again; it counts once.`);
    };
    request.open("POST", form.getAttribute("action") || location.href);
    request.setRequestHeader("X-Requested-With", "XMLHttpRequest");
    request.send(new FormData(form));
  }

  function stop() {
    sending = false;
    const button = form.querySelector("[type=submit]");
    button.removeAttribute("aria-disabled");
    button.removeAttribute("aria-busy");
    delete form.dataset.sent; // the page's own guard against a second tap
    part("progress").hidden = true;
  }

  function answered(request) {
    const kind = request.getResponseHeader("Content-Type") || "";
    if (request.status === 200 && kind.includes("json")) {
      location.assign(JSON.parse(request.responseText).next);
      return;
    }
    stop();
    const page = new DOMParser().parseFromString(request.responseText, "text/html");
    const refused = page.querySelector("form[data-upload]");
    if (refused) {
      putIn(refused);
    } else if (kind.includes("plain")) {
      say(request.responseText);
    } else {
      say(`Not read: the server answered ${request.status}. Open the page again and send once more.`);
    }
  }

  // The answer's form says what is wrong; the picked file stays picked.
  function putIn(refused) {
    const chosen = form.elements.file;
    refused.elements.file.replaceWith(chosen);
    form.replaceWith(document.adoptNode(refused));
    form = refused;
    part("drop-hint").hidden = false;
    keepTyped();
    const first = form.querySelector(".errors, .errorlist");
    if (first) {
      first.scrollIntoView({ block: "center" });
    }
  }

  // Bubbling, so that the page's guard against a second tap was asked before.
  document.addEventListener("submit", (event) => {
    if (event.target !== form) {
      return;
    }
    event.preventDefault();
    if (!sending) {
      send();
    }
  });

  part("drop-hint").hidden = false;
  keepTyped();
})();
