// The stand: one target at a time, gone through by pedal or buttons; what is played is shown live, cut
// into takes and measured. All targets are on the page, so going through them asks nothing of the
// server; takes wait in this browser while it is away.

import { Outbox } from "../sound/outbox.js";
import { PitchView } from "../sound/pitch-view.js";
import { makeNamer } from "../sound/written-names.js";
import { listMicrophones } from "../sound/microphone.js";
import { readCountIn } from "../count-in.js";
import { watchKeys } from "./holding.js";
import { LiveListening } from "./live-listening.js";
import { Marks } from "./marks.js";
import { Meter } from "./meter.js";
import { describePlace, findStart, labelOf, readTargets, showPlace } from "./page.js";
import { settleForm, watchSettling } from "./settling.js";
import { Takes } from "./takes.js";
import { Walk } from "./walk.js";

const stand = document.querySelector("[data-stand]");
const DEVICE = "microphone"; // the choice is kept in this browser, for every page that records
const find = (name) => stand.querySelector(`[data-${name}]`);
const targets = readTargets(stand);
const walk = new Walk(targets.map(({ candidates }) => candidates.length), findStart(targets, location.hash.slice(1) || history.state?.target));
const buttons = new Map([...stand.querySelectorAll("[data-do]")].map((one) => [one.dataset.do, one]));
const { tuningAHz, transpositionCents, names, lowHz, highHz, toleranceCents } = stand.dataset;

const view = new PitchView(find("view"));
view.setNames(makeNamer({ transpositionCents: Number(transpositionCents), tuningAHz: Number(tuningAHz), names }));
view.setTolerance(Number(toleranceCents));
const meter = new Meter(stand);
const marks = new Marks(view);
const countInS = readCountIn(find("count-in"));
let listening = null;
let countedS = 0; // until it listens; the button is in sight wherever one stands, on a phone as well

const here = () => targets[walk.place.target];
const candidate = () => here().candidates[walk.place.candidate];

function say(words) {
  find("said").textContent = words;
}

function showTrouble(words) {
  find("trouble").textContent = words;
  find("trouble").hidden = !words;
}

/** Where a take of what lies on the stand goes; null where there is no fingering yet. */
function aim() {
  const { url, keys } = candidate();
  // The tuning A goes with the take: it may be sent when the session has another one.
  return url ? { url, fields: { take_tuning_a_hz: tuningAHz }, label: labelOf(here(), candidate()) } : null;
}

function show() {
  const { hz, name, label, root, element } = here();
  showPlace(targets, walk.place);
  view.setTarget({ hz, label });
  marks.show(walk.place.target);
  listening?.aim(aim());
  for (const [name, button] of buttons) {
    if (name !== "listen") button.setAttribute("aria-disabled", String(!walk.can(name)));
  }
  const detail = { hz, label: name, root, bestTake: candidate().bestTake };
  find("comparison-player").dispatchEvent(new CustomEvent("target", { detail }));
  // A reload comes back here; an address with "#" would make the page jump.
  history.replaceState({ ...history.state, target: element.id }, "", location.pathname + location.search);
  // What had the focus may be hidden now.
  if (document.activeElement?.closest("[hidden]")) buttons.get("listen").focus({ preventScroll: true });
}

function go(step) {
  if (!walk.go(step)) {
    say(step.endsWith("target") ? "There is no other target that way." : "There is no other fingering that way.");
    return;
  }
  show();
  say(describePlace(targets, walk.place));
}

function showListening(isOn) {
  const button = buttons.get("listen");
  button.setAttribute("aria-pressed", String(isOn));
  const words = countedS > 0 ? `Listening in ${countedS} s` : "Stop listening";
  find("listen-words").textContent = isOn ? words : "Listen";
}

async function listen(isWanted) {
  showTrouble("");
  if (isWanted) await listening.start(localStorage.getItem(DEVICE) ?? undefined, countInS());
  else listening.stop();
  showListening(listening.isOn);
  if (listening.isOn) stand.scrollIntoView();
}

async function offerMicrophones(microphone) {
  const found = await listMicrophones();
  const choice = find("microphone");
  choice.replaceChildren(...found.map(({ deviceId, label }) => new Option(label, deviceId)));
  choice.value = microphone.deviceId ?? "";
  find("microphones").hidden = found.length < 2;
}

function showTroubleOf({ kind, message }) {
  if (kind === "missing") localStorage.removeItem(DEVICE); // the next try takes any
  showTrouble(message);
}

function press(name) {
  if (name !== "listen") go(name);
  else if (listening) listen(!listening.isOn);
}

function watchPresses() {
  for (const [name, button] of buttons) button.addEventListener("click", () => press(name));
  watchKeys(document, {
    press,
    canMark: (state) => settleForm(here(), state) !== null,
    mark: (state) => settleForm(here(), state)?.requestSubmit(),
    showHeld: (state) => {
      for (const form of stand.querySelectorAll("[data-held]")) delete form.dataset.held;
      if (state) settleForm(here(), state).dataset.held = "";
    },
  });
}

async function start() {
  stand.classList.add("is-live");
  for (const part of stand.querySelectorAll("[data-live]")) part.hidden = false;
  document.querySelector("[data-plain]").hidden = true;
  watchPresses();
  watchSettling(targets, { say, showTrouble, goOn: () => walk.can("next-target") && go("next-target") });
  show();
  const outbox = await Outbox.open();
  outbox.addEventListener("trouble", ({ detail }) => showTrouble(detail.message));
  listening = new LiveListening({ outbox, range: { lowHz: Number(lowHz), highHz: Number(highHz) } });
  listening.aim(aim());
  const takes = new Takes({ stand, targets, outbox, marks, say });
  takes.follow(listening);
  listening.addEventListener("state", ({ detail }) => {
    find("comparison-player").dispatchEvent(new CustomEvent("microphone", { detail: { isOpen: detail !== "closed" } }));
    meter.showState(detail);
    if (detail === "counting") return;
    countedS = 0;
    showListening(listening.isOn && detail !== "closed");
  });
  listening.addEventListener("level", ({ detail }) => meter.showLevel(detail));
  listening.addEventListener("reading", ({ detail }) => view.add(detail));
  listening.addEventListener("count", ({ detail }) => {
    countedS = detail;
    meter.showCount(detail);
    showListening(true);
  });
  listening.addEventListener("dropped", ({ detail }) => meter.showNotKept(detail));
  listening.addEventListener("trouble", ({ detail }) => showTroubleOf(detail));
  listening.addEventListener("open", ({ detail }) => {
    meter.begin(detail);
    offerMicrophones(detail);
  });
  find("microphone").addEventListener("change", ({ target }) => {
    localStorage.setItem(DEVICE, target.value);
    listen(true);
  });
  window.addEventListener("pagehide", () => listening.stop());
  await takes.showWaiting();
}

start();
