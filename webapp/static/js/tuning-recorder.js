// @ts-check
// The tuning notes on the page of a practice: a button each. One touch listens, takes one held note,
// lets go of the microphone and says what was measured.

import { dispatch, find as findIn, findAll, show as showElement, write } from "./dom.js";
import { writeSaid } from "./notes.js";
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

  /** @param {import("./said.js").Said[]} parts with no space between them */
  const say = (...parts) => writeSaid(find("state"), parts.flat());

  /** @param {string} words */
  function complain(words) {
    write(find("trouble"), words);
    showElement(find("trouble"), words !== "");
  }

  /** The words for the note that is to sound. */
  const name = () => wanted?.dataset.label ?? "";

  /** The note that is to sound. @returns {import("./said.js").Note} */
  const note = () => JSON.parse(wanted?.dataset.note ?? "");

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
    const fields = { written: button.dataset.tuningNote ?? "" };
    recorder.arm({ url, label: `tuning note ${name()}`, said: ["tuning note ", note()], fields });
  }

  for (const button of buttons) button.addEventListener("click", () => listen(button));
  window.addEventListener("pagehide", () => recorder.close());
  recorder.on("state", (state) => {
    for (const button of buttons) {
      button.setAttribute("aria-pressed", String(button === wanted && LISTENING.has(state)));
    }
    if (state === "waiting") say("Listening. Hold ", note(), ".");
    if (state === "sounding") say("Recording ", note(), ".");
  });
  recorder.on("dropped", () => say("That was no held note, and is not kept. Hold ", note(), " for a moment."));
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
