// @ts-check
// The recorder on a page: one button, what is heard, and the takes of this visit. What is played
// belongs to the chosen row of the page, where it has rows, else to the panel's own place. The panel
// shows what the Recorder says and knows nothing of sound itself.

import { find as findIn, findAll, findOptional, show as showElement, write } from "./dom.js";
import { LevelMeter } from "./level-meter.js";
import { readCountIn } from "./count-in.js";
import { forget, recall, remember } from "./remembered.js";
import { VisitTakeList } from "./visit-take-list.js";
import { listMicrophones } from "./sound/microphone.js";
import { Outbox } from "./sound/outbox.js";
import { Recorder } from "./sound/recorder.js";

/** @typedef {import("./sound/recorder.js").RecorderState} RecorderState */

/** @type {Record<RecorderState, string>} while it counts, the seconds are said */
const STATES = {
  counting: "",
  closed: "Not listening.",
  opening: "Opening the microphone…",
  idle: "Not listening.",
  waiting: "Listening. Play a note.",
  sounding: "Recording this note.",
};
const NOT_KEPT = {
  short: "That was too short. Hold the note for a moment.",
  noise: "That was noise without a tone, and is not kept. Play a note.",
};
/** @type {Set<RecorderState>} */
const LISTENING = new Set(["counting", "waiting", "sounding"]);
const DEVICE = "microphone"; // the choice is kept in this browser

/**
 * Where a take goes, and what is said with it.
 * @param {HTMLElement} place
 * @returns {{url: string, fields: Record<string, string>}}
 */
function readPlace({ dataset: { url = "", fields = "{}" } }) {
  return { url, fields: JSON.parse(fields) };
}

/** @param {HTMLElement} panel */
async function enhance(panel) {
  const find = (/** @type {string} */ name) => findIn(panel, `[data-recorder-${name}]`);
  const findSelect = (/** @type {string} */ name) => findIn(panel, `[data-recorder-${name}]`, HTMLSelectElement);
  const { label = "", note } = panel.dataset;
  /** @type {import("./said.js").Said} */
  const said = note ? JSON.parse(note) : label;
  const asleep = find("button").textContent ?? "";
  const outbox = await Outbox.open();
  const recorder = new Recorder({ outbox });
  const meter = new LevelMeter(find("level"));
  const takes = new VisitTakeList(find("takes"), outbox, () => places().map(({ url }) => url));
  const device = findIn(find("devices"), "select", HTMLSelectElement);
  const dynamic = findSelect("dynamic");
  const countInS = readCountIn(findSelect("count"));
  let isSpoken = "";

  /** Where takes of this page may go. */
  const places = () => [panel, ...findAll(document, "[data-played]")].map(readPlace);

  function destination() {
    const { url, fields } = readPlace(findOptional(document, "[data-played]:checked") ?? panel);
    return { url, label, said, fields: { ...fields, dynamic: dynamic.value } };
  }

  /** Say something once to those who do not see it; a change with every note would be chatter. @param {string} words */
  function speak(words) {
    if (isSpoken === words) return;
    isSpoken = words;
    find("spoken").textContent = words;
  }

  /** @param {RecorderState} state */
  function show(state) {
    const isOn = LISTENING.has(state);
    find("button").textContent = isOn || state === "opening" ? "Stop" : asleep;
    panel.dataset.state = state;
    if (state !== "counting") find("state").textContent = STATES[state];
    if (state === "waiting") speak("Listening.");
    if (state === "closed") speak("Not listening.");
    showElement(find("level"), isOn || state === "idle");
    if (!isOn) warn("");
  }

  /** @param {string} words */
  function warn(words) {
    const place = find("warning");
    if (place.textContent === words) return;
    place.textContent = words;
    showElement(place, words !== "");
    if (words) speak(words);
  }

  /** @param {string} words */
  function complain(words) {
    find("trouble").textContent = words;
    showElement(find("trouble"), words !== "");
  }

  async function start() {
    complain("");
    if (!await recorder.open(recall(DEVICE) ?? undefined)) return;
    if (recorder.microphone) meter.begin(recorder.microphone);
    recorder.arm({ ...destination(), countInS: countInS() });
    await showDevices();
  }

  async function showDevices() {
    const found = await listMicrophones();
    device.replaceChildren(...found.map(({ deviceId, label }) => new Option(label, deviceId)));
    device.value = recorder.microphone?.deviceId ?? "";
    showElement(find("devices"), found.length > 1);
  }

  find("button").addEventListener("click", () => {
    if (recorder.state === "closed") start();
    else recorder.close();
  });
  device.addEventListener("change", () => {
    remember(DEVICE, device.value);
    start();
  });
  dynamic.addEventListener("change", () => recorder.redirect(destination()));
  document.addEventListener("change", ({ target }) => {
    if (target instanceof Element && target.matches("[data-played]")) recorder.redirect(destination());
  });
  navigator.mediaDevices?.addEventListener("devicechange", () => recorder.microphone && showDevices());
  window.addEventListener("pagehide", () => recorder.close());

  recorder.on("state", show);
  recorder.on("count", (seconds) => write(find("state"), `Listening in ${seconds} s.`));
  recorder.on("level", (level) => warn(meter.show(level)));
  recorder.on("trouble", ({ kind, message }) => {
    if (kind === "missing") forget(DEVICE); // the next try takes any
    complain(message);
  });
  recorder.on("dropped", (why) => write(find("state"), NOT_KEPT[why]));
  recorder.on("note", (note) => takes.add(note));
  takes.on("result", (words) => {
    speak(words);
    showElement(find("renew"));
  });
  outbox.on("trouble", ({ message }) => complain(message));
  showElement(panel);
  for (const link of findAll(document, "[data-recorder-link]")) showElement(link);
  await takes.showKept();
}

for (const panel of findAll(document, "[data-recorder]")) enhance(panel);
