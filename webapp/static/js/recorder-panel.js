// The recorder on the page of a fingering: one button, what is heard, and the takes of this visit.
// It shows what the Recorder says and knows nothing of sound itself.

import { LevelMeter } from "./level-meter.js";
import { readCountIn } from "./count-in.js";
import { VisitTakeList } from "./visit-take-list.js";
import { listMicrophones } from "./sound/microphone.js";
import { Outbox } from "./sound/outbox.js";
import { Recorder } from "./sound/recorder.js";

const STATES = {
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
const LISTENING = new Set(["counting", "waiting", "sounding"]);
const DEVICE = "microphone"; // the choice is kept in this browser

async function enhance(panel) {
  const find = (name) => panel.querySelector(`[data-recorder-${name}]`);
  const outbox = await Outbox.open();
  const recorder = new Recorder({ outbox });
  const meter = new LevelMeter(find("level"));
  const takes = new VisitTakeList(find("takes"), outbox, panel.dataset.url);
  const device = find("devices").querySelector("select");
  const countInS = readCountIn(find("count"));
  let isSpoken = "";

  const target = () => ({
    url: panel.dataset.url,
    label: panel.dataset.label,
    fields: { dynamic: find("dynamic").value },
  });

  /** Say something once to those who do not see it; a change with every note would be chatter. */
  function speak(words) {
    if (isSpoken === words) return;
    isSpoken = words;
    find("spoken").textContent = words;
  }

  function show(state) {
    const isOn = LISTENING.has(state);
    find("button").textContent = isOn || state === "opening" ? "Stop listening" : "Record takes";
    panel.dataset.state = state;
    if (state !== "counting") find("state").textContent = STATES[state];
    if (state === "waiting") speak("Listening.");
    if (state === "closed") speak("Not listening.");
    find("level").hidden = !isOn && state !== "idle";
    if (!isOn) warn("");
  }

  function warn(words) {
    const place = find("warning");
    if (place.textContent === words) return;
    place.textContent = words;
    place.hidden = !words;
    if (words) speak(words);
  }

  function complain(words) {
    find("trouble").textContent = words;
    find("trouble").hidden = !words;
  }

  async function start() {
    complain("");
    if (!await recorder.open(localStorage.getItem(DEVICE) ?? undefined)) return;
    await showDevices();
    meter.begin(recorder.microphone);
    recorder.arm({ ...target(), countInS: countInS() });
  }

  async function showDevices() {
    const found = await listMicrophones();
    device.replaceChildren(...found.map(({ deviceId, label }) => new Option(label, deviceId)));
    device.value = recorder.microphone?.deviceId ?? "";
    find("devices").hidden = found.length < 2;
  }

  find("button").addEventListener("click", () => {
    if (recorder.state === "closed") start();
    else recorder.close();
  });
  device.addEventListener("change", () => {
    localStorage.setItem(DEVICE, device.value);
    start();
  });
  find("dynamic").addEventListener("change", () => recorder.retarget(target()));
  navigator.mediaDevices?.addEventListener("devicechange", () => recorder.microphone && showDevices());
  window.addEventListener("pagehide", () => recorder.close());

  recorder.addEventListener("state", ({ detail }) => show(detail));
  recorder.addEventListener("count", ({ detail }) => {
    find("state").textContent = `Listening in ${detail} s.`;
  });
  recorder.addEventListener("level", ({ detail }) => warn(meter.show(detail)));
  recorder.addEventListener("trouble", ({ detail }) => {
    if (detail.kind === "missing") localStorage.removeItem(DEVICE); // the next try takes any
    complain(detail.message);
  });
  recorder.addEventListener("dropped", ({ detail }) => {
    find("state").textContent = NOT_KEPT[detail];
  });
  recorder.addEventListener("note", ({ detail }) => takes.add(detail));
  takes.addEventListener("result", ({ detail }) => {
    speak(detail);
    find("renew").hidden = false;
  });
  outbox.addEventListener("trouble", ({ detail }) => complain(detail.message));
  panel.hidden = false;
  for (const link of document.querySelectorAll("[data-recorder-link]")) link.hidden = false;
  await takes.showKept();
}

for (const panel of document.querySelectorAll("[data-recorder]")) enhance(panel);
