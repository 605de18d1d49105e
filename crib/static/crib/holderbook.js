/* Holderbook: what a script can add. Every page works without it.
 *
 * 1. A wedge scanner types very fast and ends with Enter. Such a burst goes to the scan field,
 *    whatever has the focus, and never stays in the field a person was filling in.
 * 2. A form that was sent once is not sent again by a second tap.
 * 3. An old answer loses its word and its colour; an answer shown again by "back" is asked for anew.
 * 4. Verdict sounds, told apart by rhythm, when the person has switched them on.
 * 5. Enter goes to the next figure of a form with several, and sends it from the last.
 */
"use strict";

(() => {
  const GAP_MS = 50; // a scanner usually leaves less than this between two characters
  const PAUSE_MS = 300; // a busy computer may hold a scan up for so long; people pause longer
  const BURST_LENGTH = 4; // so many fast characters are no longer taken for typing; a mark is short
  const SAME_SCAN_MS = 2000;
  const RESEND_MS = 5000;
  const OLD_AFTER_MS = 12 * 60 * 60 * 1000;
  const NOT_CHECKED = "NOT CHECKED"; // no fifth verdict: what was said no longer counts
  const SOUND_KEY = "holderbook.sound";

  // --- 1. wedge scanner -------------------------------------------------------------------

  let burst = null; // {text, last, gaps, field, before, swallowed, timer}
  let lastScan = { text: "", at: 0 };

  const takesText = (target) => target instanceof HTMLElement && target.matches("input, textarea");

  function startBurst(event) {
    const field = takesText(event.target) ? event.target : null;
    const before = field ? field.value : "";
    const last = event.timeStamp;
    burst = { text: event.key, last, gaps: [], field, before, swallowed: "", timer: 0 };
  }

  function putIn(field, text) {
    if (field.selectionStart === null) {
      field.value += text; // a number field tells no caret
    } else {
      field.setRangeText(text, field.selectionStart, field.selectionEnd, "end");
    }
  }

  function giveBack() {
    // Fast, but no Enter followed: a person rolled over the keys. Nothing typed may get lost.
    if (burst && burst.field && burst.swallowed) {
      clearTimeout(burst.timer);
      putIn(burst.field, burst.swallowed);
      burst.field.dispatchEvent(new Event("input", { bubbles: true }));
    }
    burst = null;
  }

  // The middle gap, not the longest: one stall must not cut a scan in two.
  function isFast() {
    const sorted = [...burst.gaps].sort((one, other) => one - other);
    return sorted[Math.floor(sorted.length / 2)] < GAP_MS;
  }

  function growBurst(event) {
    burst.text += event.key;
    burst.gaps.push(event.timeStamp - burst.last);
    burst.last = event.timeStamp;
    if (burst.text.length >= BURST_LENGTH && isFast()) {
      event.preventDefault();
      burst.swallowed += event.key;
      clearTimeout(burst.timer);
      burst.timer = setTimeout(giveBack, PAUSE_MS);
    } else if (burst.swallowed) {
      giveBack(); // a person after all: the swallowed signs go in before this one
      startBurst(event);
    }
  }

  function endBurst(event) {
    const { text, field, before, timer } = burst;
    clearTimeout(timer);
    event.preventDefault();
    event.stopPropagation();
    burst = null;
    if (field) {
      field.value = before;
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
    sendScan(text, event.timeStamp);
  }

  function sendScan(text, at) {
    const form = document.querySelector("form[data-scan]");
    if (!form) {
      play("ignored");
      return;
    }
    if (text === lastScan.text && at - lastScan.at < SAME_SCAN_MS) {
      return;
    }
    lastScan = { text, at };
    form.elements.entry.value = text;
    form.requestSubmit();
  }

  document.addEventListener(
    "keydown",
    (event) => {
      if (event.isComposing || event.ctrlKey !== event.altKey || event.metaKey || event.repeat) {
        return;
      }
      const goesOn = burst && event.timeStamp - burst.last < PAUSE_MS;
      if (event.key === "Enter") {
        if (goesOn && burst.text.length >= BURST_LENGTH && isFast()) {
          endBurst(event);
        } else {
          giveBack();
        }
      } else if (event.key.length === 1) {
        if (goesOn) {
          growBurst(event);
        } else {
          giveBack();
          startBurst(event);
        }
      } else if (event.key !== "Shift" && event.key !== "AltGraph") {
        giveBack();
      }
    },
    true,
  );

  // --- 2. sent once -----------------------------------------------------------------------

  function release(form) {
    delete form.dataset.sent;
    form.querySelectorAll("[aria-busy]").forEach((button) => button.removeAttribute("aria-busy"));
  }

  function guard(event) {
    const form = event.target;
    if ((form.getAttribute("method") || "get").toLowerCase() !== "post") {
      return;
    }
    if (form.dataset.sent) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    form.dataset.sent = "yes";
    if (event.submitter) {
      event.submitter.setAttribute("aria-busy", "true");
    }
    setTimeout(() => release(form), RESEND_MS); // a sheet that downloads leaves the page standing
  }

  document.addEventListener("submit", guard, true);
  document.addEventListener("htmx:afterRequest", () => {
    document.querySelectorAll("form[data-sent]").forEach(release);
  });

  // --- 3. old answers ---------------------------------------------------------------------

  function markOld() {
    document.querySelectorAll(".verdict[data-checked-at]").forEach((verdict) => {
      verdict.classList.add("is-old");
      verdict.querySelectorAll(".verdict-word").forEach((word) => (word.textContent = NOT_CHECKED));
      verdict.querySelectorAll("[data-old-note]").forEach((note) => (note.hidden = false));
    });
  }

  function watchAge() {
    document.querySelectorAll(".verdict[data-checked-at]").forEach((verdict) => {
      const age = Date.now() - Date.parse(verdict.dataset.checkedAt);
      if (age > OLD_AFTER_MS) {
        markOld();
      }
    });
  }

  function markOffline() {
    document.querySelectorAll("[data-old-note]").forEach((note) => {
      note.textContent = "No connection. Scan again when it is back.";
    });
    markOld();
  }

  // Going back, an answer is read from its top, not from where its form was left.
  if (document.querySelector(".verdict[data-checked-at]")) {
    window.history.scrollRestoration = "manual";
  }

  window.addEventListener("offline", markOffline);
  window.addEventListener("pageshow", (event) => {
    document.querySelectorAll("form[data-sent]").forEach(release);
    if (event.persisted && document.querySelector(".verdict[data-checked-at]")) {
      markOld();
      window.location.reload();
    }
  });
  setInterval(watchAge, 60000);
  watchAge();
  if (navigator.onLine === false) {
    markOffline(); // shown out of a cache
  }

  // --- 4. sounds --------------------------------------------------------------------------

  // Lengths in ms: sound, silence, sound, ... Deep tones: ear defenders cut the high ones.
  const RHYTHMS = {
    match: { hertz: 660, beats: [110] },
    check: { hertz: 520, beats: [110, 110, 110] },
    cant_tell: { hertz: 520, beats: [110, 110, 420] },
    stop: { hertz: 390, beats: [420, 140, 420, 140, 420] },
    ignored: { hertz: 130, beats: [300] },
  };
  let audio = null;

  const soundIsOn = () => {
    try {
      return window.localStorage.getItem(SOUND_KEY) === "on";
    } catch {
      return false; // storage closed by the browser: stay silent
    }
  };

  function play(name) {
    const rhythm = RHYTHMS[name];
    if (!rhythm || !soundIsOn() || !window.AudioContext) {
      return;
    }
    audio = audio || new AudioContext();
    audio.resume().then(() => {
      let at = audio.currentTime + 0.02;
      rhythm.beats.forEach((length, index) => {
        if (index % 2 === 0) {
          const tone = audio.createOscillator();
          tone.type = "square";
          tone.frequency.value = rhythm.hertz;
          tone.connect(audio.destination);
          tone.start(at);
          tone.stop(at + length / 1000);
        }
        at += length / 1000;
      });
    });
  }

  function playVerdicts(root) {
    // Samples on the style page stay silent.
    const verdict = root.querySelector && root.querySelector("[data-sound]:not(.verdict-frame *)");
    if (verdict) {
      play(verdict.dataset.sound);
    }
  }

  document.querySelectorAll("[data-sound-switch]").forEach((button) => {
    const show = () => {
      button.setAttribute("aria-pressed", String(soundIsOn()));
      button.querySelector("[data-sound-word]").textContent = soundIsOn() ? "on" : "off";
    };
    button.hidden = false;
    button.addEventListener("click", () => {
      try {
        window.localStorage.setItem(SOUND_KEY, soundIsOn() ? "off" : "on");
      } catch {
        return;
      }
      show();
      play("match");
    });
    show();
  });

  // --- 5. Enter goes to the next figure ---------------------------------------------------

  function goOn(event) {
    const field = event.target;
    const plain = !event.isComposing && !event.shiftKey && !event.ctrlKey && !event.altKey;
    const group = field instanceof HTMLInputElement && field.closest("[data-enter-next]");
    if (event.key !== "Enter" || event.defaultPrevented || !plain || !group) {
      return;
    }
    const fields = [...group.querySelectorAll("input:not([type=hidden], [disabled])")];
    const next = fields[fields.indexOf(field) + 1];
    event.preventDefault();
    if (next) {
      next.focus();
      next.select();
    } else {
      field.form.requestSubmit(group.querySelector("button[type=submit]"));
    }
  }

  document.addEventListener("keydown", goOn);

  playVerdicts(document);
  document.addEventListener("htmx:afterSwap", (event) => playVerdicts(event.target));
})();
