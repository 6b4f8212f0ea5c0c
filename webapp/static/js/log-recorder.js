// @ts-check
// Record on the log page: it saves the fingering, listens, takes one held note, and goes on to the
// entry with its figure. What is refused is shown by the page itself, before anything has sounded.

import { dispatch, find as findIn, findAll, findOptional, show as showElement, write } from "./dom.js";
import { LevelMeter } from "./level-meter.js";
import { forget, recall } from "./remembered.js";
import { Outbox } from "./sound/outbox.js";
import { Recorder } from "./sound/recorder.js";

const DEVICE = "microphone"; // the choice is kept in this browser, for every page that records
/** @type {Partial<Record<import("./sound/recorder.js").RecorderState, string>>} */
const WORDS = { opening: "Opening the microphone…", waiting: "Saved. Listening: hold the note.", sounding: "Recording this note." };
const NOT_KEPT = {
  short: "That was too short. Hold the note for a moment.",
  noise: "That was noise without a tone, and is not kept. Play a note.",
};

/** @param {HTMLElement} bar */
async function enhance(bar) {
  const find = (/** @type {string} */ name) => findIn(bar, `[data-record-${name}]`);
  const button = findIn(bar, "[data-record]");
  const save = findIn(bar, "[data-save]");
  const form = /** @type {HTMLFormElement} */ (bar.closest("form"));
  const outbox = await Outbox.open();
  const recorder = new Recorder({ outbox });
  const meter = new LevelMeter(find("level"));
  let entry = ""; // the address of the fingering, once it is saved
  let hasNote = false;

  /** @param {string} words */
  function say(words) {
    write(find("state"), words);
    showElement(find("state"), words !== "");
  }

  /** @param {string} words */
  function complain(words) {
    write(find("trouble"), words);
    showElement(find("trouble"), words !== "");
  }

  /** Save the fingering; null where it is refused. @returns {Promise<string | null>} where its takes go */
  async function saveForm() {
    const sent = new FormData(form);
    sent.delete("clip");
    sent.set("action", "keep");
    const answer = await fetch(location.href, { method: "POST", body: sent });
    if (!answer.ok || !answer.redirected) return null;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    entry = answer.url;
    dispatch(form, "form:kept", null);
    return findIn(page, "[data-recorder]").dataset.url ?? null;
  }

  async function start() {
    complain("");
    if (!form.reportValidity()) return;
    if (findOptional(form, "[name=clip]", HTMLInputElement)?.files?.length) {
      complain("A recording is chosen below: Save keeps it with the fingering.");
      return;
    }
    if (!await recorder.open(recall(DEVICE) ?? undefined)) return;
    /** @type {string | null} */
    let url;
    try {
      url = await saveForm();
    } catch {
      recorder.close();
      complain("The notebook does not answer. What you entered stays here.");
      return;
    }
    if (url === null) {
      recorder.close();
      form.requestSubmit(save);
      return;
    }
    for (const part of findAll(form, ".log-asked, .keys-entry, .log-more")) part.inert = true;
    showElement(save, false);
    if (recorder.microphone) meter.begin(recorder.microphone);
    const dynamic = findOptional(form, "[name=dynamic]", HTMLSelectElement)?.value ?? "";
    recorder.arm({ url, label: findIn(form, "[name=target]", HTMLInputElement).value, fields: { dynamic } });
  }

  function goOn() {
    location.assign(entry);
  }

  button.addEventListener("click", () => {
    if (hasNote) goOn(); // the take waits in the browser until the notebook has it
    else if (recorder.state === "closed") start();
    else recorder.close();
  });
  window.addEventListener("pagehide", () => recorder.close());
  recorder.on("state", (state) => {
    const isOn = state === "waiting" || state === "sounding";
    bar.dataset.state = state;
    button.textContent = isOn || state === "opening" ? "Stop" : "Record";
    showElement(find("level"), isOn);
    say(WORDS[state] ?? "");
    if (state !== "closed" || !entry) return;
    if (!hasNote) goOn();
    else {
      bar.dataset.state = "measuring";
      button.textContent = "Go on";
      say("Measuring…");
    }
  });
  recorder.on("level", (level) => {
    const warning = meter.show(level);
    if (warning) say(warning);
  });
  recorder.on("dropped", (why) => say(NOT_KEPT[why]));
  recorder.on("note", () => {
    hasNote = true;
    recorder.close();
  });
  recorder.on("result", goOn);
  recorder.on("refused", goOn);
  recorder.on("trouble", ({ kind, message }) => {
    if (kind === "missing") forget(DEVICE); // the next try takes any
    complain(message);
  });
  outbox.on("trouble", ({ message }) => complain(message));
  showElement(button);
}

for (const bar of findAll(document, "[data-log-bar]:has([data-record])")) enhance(bar);
