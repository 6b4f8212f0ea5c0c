// @ts-check
// The tuning notes on the page of a practice: a button each. One touch listens, takes one held note,
// lets go of the microphone and says what was measured.

import { dispatch, find as findIn, findAll, show as showElement, write } from "./dom.js";
import { Outbox } from "./sound/outbox.js";
import { Recorder } from "./sound/recorder.js";

const DEVICE = "microphone"; // the choice is kept in this browser, for every page that records
const LISTENING = new Set(["waiting", "sounding"]);

/** @param {HTMLElement} panel */
async function enhance(panel) {
  const find = (/** @type {string} */ name) => findIn(panel, `[data-tuning-${name}]`);
  const { url = "" } = panel.dataset;
  showElement(panel); // at once: what lies below must not move under a finger
  const outbox = await Outbox.open();
  const recorder = new Recorder({ outbox });
  const buttons = findAll(panel, "[data-tuning-note]");
  /** @type {HTMLElement | null} the note that is to sound */
  let wanted = null;

  /** @param {string} words */
  const say = (words) => write(find("state"), words);

  /** @param {string} words */
  function complain(words) {
    write(find("trouble"), words);
    showElement(find("trouble"), words !== "");
  }

  function name() {
    return wanted?.dataset.label ?? "";
  }

  /** @param {HTMLElement} button */
  async function listen(button) {
    const isOn = wanted === button && LISTENING.has(recorder.state);
    recorder.close();
    if (isOn) {
      say("Not listening.");
      return;
    }
    wanted = button;
    dispatch(panel, "tuning", null, true); // what listens beside it stops
    complain("");
    say("Opening the microphone…");
    if (!await recorder.open(localStorage.getItem(DEVICE) ?? undefined)) {
      say("Not listening.");
      return;
    }
    recorder.arm({ url, label: `tuning note ${name()}`, fields: { written: button.dataset.tuningNote ?? "" } });
  }

  for (const button of buttons) button.addEventListener("click", () => listen(button));
  window.addEventListener("pagehide", () => recorder.close());
  recorder.on("state", (state) => {
    for (const button of buttons) {
      button.setAttribute("aria-pressed", String(button === wanted && LISTENING.has(state)));
    }
    if (state === "waiting") say(`Listening. Hold ${name()}.`);
    if (state === "sounding") say(`Recording ${name()}.`);
  });
  recorder.on("dropped", () => say(`That was no held note, and is not kept. Hold ${name()} for a moment.`));
  recorder.on("trouble", ({ kind, message }) => {
    if (kind === "missing") localStorage.removeItem(DEVICE); // the next try takes any
    complain(message);
  });
  recorder.on("note", () => {
    recorder.close();
    say("Measuring…");
  });
  recorder.on("result", ({ item, result }) => {
    say(`${item.label}: ${result.figure ?? "no pitch"}`);
    showElement(find("renew"));
  });
  recorder.on("refused", ({ message }) => {
    say("Not kept.");
    complain(message);
  });
  outbox.on("trouble", ({ message }) => complain(message));
}

for (const panel of findAll(document, "[data-tuning-recorder]")) enhance(panel);
