// @ts-check
// The stand: one target at a time, gone through by pedal or buttons; what is played is shown live, cut
// into takes and measured. All targets are on the page, so going through them asks nothing of the
// server; takes wait in this browser while it is away.

import { find as findIn, findAll, findOptional, press as pressIn, show as showElement, dispatch } from "../dom.js";
import { forget, recall, remember } from "../remembered.js";
import { partsOf } from "../said.js";
import { Outbox } from "../sound/outbox.js";
import { PitchView } from "../sound/pitch-view.js";
import { makeNamer } from "../sound/written-names.js";
import { listMicrophones } from "../sound/microphone.js";
import { readCountIn } from "../count-in.js";
import { watchKeys } from "./holding.js";
import { readKey } from "./pedal.js";
import { LiveListening } from "./live-listening.js";
import { Marks } from "./marks.js";
import { Meter } from "./meter.js";
import { addSuggestions, describePlace, findStart, isPaged, labelOf, readTargets, showPlace } from "./page.js";
import { settleForm, watchSettling } from "./settling.js";
import { askForSuggestions } from "./suggested.js";
import { Takes } from "./takes.js";
import { Walk } from "./walk.js";
import { offerWatching } from "./watching.js";

/** @typedef {import("./pedal.js").Wish} Wish */

const stand = findIn(document, "[data-stand]");
const LOOP_QUIET_S = 0.8; // a register break within a loop does not end it
const DEVICE = "microphone"; // the choice is kept in this browser, for every page that records
const find = (/** @type {string} */ name) => findIn(stand, `[data-${name}]`);
const findSelect = (/** @type {string} */ name) => findIn(stand, `[data-${name}]`, HTMLSelectElement);
const targets = readTargets(stand);
const first = findStart(targets, location.hash.slice(1) || history.state?.target);
const walk = new Walk(targets.map(({ candidates }) => candidates.length), first);
const readWish = (/** @type {HTMLElement} */ button) => /** @type {Wish} */ (button.dataset.do);
const buttons = findAll(stand, "[data-do]").map((button) => ({ button, wish: readWish(button) }));
const listenButton = findIn(stand, '[data-do="listen"]');
const { tuningAHz = "", transpositionCents, lowHz, highHz, toleranceCents } = stand.dataset;
/** @type {import("../sound/written-names.js").Names} */
const names = JSON.parse(stand.dataset.names ?? "");

const view = new PitchView(find("view"));
view.setNames(makeNamer({
  transpositionCents: Number(transpositionCents),
  tuningAHz: Number(tuningAHz),
  names,
}));
view.setTolerance(Number(toleranceCents));
const meter = new Meter(stand);
const marks = new Marks(view);
const player = findOptional(stand, "[data-comparison-player]"); // none where no note is asked for
const countInS = readCountIn(findSelect("count-in"));
/** @type {LiveListening | null} */
let listening = null;
let isWatching = false;

const here = () => targets[walk.place.target];
const candidate = () => here().candidates[walk.place.candidate];

/** @param {string} words */
function say(words) {
  find("said").textContent = words;
}

/** @param {string} words */
function showTrouble(words) {
  find("trouble").textContent = words;
  showElement(find("trouble"), words !== "");
}

/** Where a take of what lies on the stand goes: to a fingering, to a try, or to what is unsorted. */
function aim() {
  const { url, fields, isLoop } = candidate();
  // The tuning A goes with the take: it may be sent when the session has another one.
  const { note } = here();
  const { keys } = candidate();
  return {
    url,
    fields: { ...fields, take_tuning_a_hz: tuningAHz },
    label: labelOf(here(), candidate()),
    quietS: isLoop ? LOOP_QUIET_S : undefined,
    said: keys ? [...partsOf(note), `, ${keys}`] : note,
  };
}

function show() {
  const { hz, note, root, element } = here();
  showPlace(targets, walk.place);
  stand.classList.toggle("is-loop", candidate().isLoop);
  view.setTarget({ hz, label: hz === null ? "" : note });
  marks.show(walk.place.target);
  listening?.aim(aim());
  for (const { wish, button } of buttons) {
    if (wish !== "listen") button.setAttribute("aria-disabled", String(!walk.can(stepOf(wish))));
  }
  const { length } = here().candidates;
  showElement(find("pager"), length > 1);
  find("pager-words").textContent = `${walk.place.candidate + 1} of ${length}`;
  if (player) dispatch(player, "target", { hz, label: note, root, bestTake: candidate().bestTake });
  // A reload comes back here; an address with "#" would make the page jump.
  history.replaceState({ ...history.state, target: element.id }, "", location.pathname + location.search);
  // What had the focus may be hidden now.
  if (document.activeElement?.closest("[hidden]")) listenButton.focus({ preventScroll: true });
}

/**
 * A step through the list goes through the suggestions for an open note first.
 * @param {import("./walk.js").Step} step
 */
function stepOf(step) {
  if (!isPaged(here())) return step;
  if (step === "next-target" && walk.can("next-candidate")) return "next-candidate";
  if (step === "previous-target" && walk.can("previous-candidate")) return "previous-candidate";
  return step;
}

/** @param {import("./walk.js").Step} wanted */
function go(wanted) {
  const step = stepOf(wanted);
  if (!walk.go(step)) {
    say(step.endsWith("target") ? "There is no other note that way." : "There is no other fingering that way.");
    return;
  }
  show();
  say(describePlace(targets, walk.place));
}

/** @param {boolean} isOn */
function showListening(isOn) {
  pressIn([listenButton], () => isOn);
  stand.classList.toggle("is-listening", isOn);
  find("listen-words").textContent = isOn ? "Stop" : "Listen";
}

/** @param {LiveListening} listening @param {boolean} isWanted */
async function listen(listening, isWanted) {
  showTrouble("");
  if (isWanted) await listening.start(recall(DEVICE) ?? undefined, countInS());
  else listening.stop();
  showListening(listening.isOn);
  if (listening.isOn) stand.scrollIntoView();
}

/** @param {import("../sound/microphone.js").Microphone} microphone */
async function offerMicrophones(microphone) {
  const found = await listMicrophones();
  const choice = findSelect("microphone");
  choice.replaceChildren(...found.map(({ deviceId, label }) => new Option(label, deviceId)));
  choice.value = microphone.deviceId ?? "";
  showElement(find("microphones"), found.length > 1);
}

/** @param {import("../sound/microphone.js").MicrophoneTrouble} trouble */
function showTroubleOf({ kind, message }) {
  if (kind === "missing") forget(DEVICE); // the next try takes any
  showTrouble(message);
}

/** @param {Wish} wish */
function press(wish) {
  if (wish !== "listen") go(wish);
  else if (listening) listen(listening, !listening.isOn);
}

/** Keys are told of once one was used; a phone has none. */
function tellOfKeys() {
  const once = new AbortController();
  document.addEventListener("keydown", (event) => {
    if (!readKey(event)) return;
    stand.classList.add("is-keyed");
    showElement(find("keys-hint"));
    once.abort();
  }, { capture: true, signal: once.signal });
}

/** @param {number} target @param {HTMLElement[]} elements */
function addSuggested(target, elements) {
  const isShown = target === walk.place.target;
  const added = addSuggestions(targets[target], elements);
  walk.extend(target, added, isShown && (listening?.isOn ?? false));
  if (!isShown) {
    showPlace(targets, walk.place);
    return;
  }
  show();
  say(`${added === 1 ? "1 suggestion is" : `${added} suggestions are`} here. ${describePlace(targets, walk.place)}`);
}

function watchPresses() {
  for (const { wish, button } of buttons) button.addEventListener("click", () => press(wish));
  watchKeys(document, {
    press,
    canMark: (state) => settleForm(here(), state) !== null,
    mark: (state) => settleForm(here(), state)?.requestSubmit(),
    showHeld: (state) => {
      for (const form of findAll(stand, "[data-held]")) delete form.dataset.held;
      if (state) settleForm(here(), state)?.setAttribute("data-held", "");
    },
  });
}

async function start() {
  stand.classList.add("is-live");
  for (const part of findAll(stand, "[data-live]")) showElement(part);
  showElement(findIn(document, "[data-plain]"), false);
  watchPresses();
  tellOfKeys();
  const { endHint } = startWatching();
  watchSettling(targets, { say, showTrouble, goOn: () => walk.can("next-target") && go("next-target") });
  show();
  const outbox = await Outbox.open();
  outbox.on("trouble", ({ message }) => showTrouble(message));
  listening = new LiveListening({ outbox, range: { lowHz: Number(lowHz), highHz: Number(highHz) } });
  listening.aim(aim());
  listening.watch(isWatching);
  listening.on("note", endHint);
  document.addEventListener("tuning", () => listening?.stop());
  const takes = new Takes({ stand, targets, outbox, marks, say });
  takes.follow(listening);
  showWhatIsHeard(listening);
  await takes.showWaiting();
  await askForSuggestions(targets, walk.place.target, addSuggested);
}

function startWatching() {
  const watching = offerWatching(stand, {
    say,
    choose(isChosen) {
      isWatching = isChosen;
      view.setWatching(isChosen);
      listening?.watch(isChosen);
    },
  });
  view.place(watching.hint);
  return watching;
}

/** @param {LiveListening} listening */
function showWhatIsHeard(listening) {
  listening.on("state", (state) => {
    if (player) dispatch(player, "microphone", { isOpen: state !== "closed" });
    view.setSounding(state === "sounding");
    meter.showState(state);
    showListening(listening.isOn && state !== "closed");
  });
  listening.on("level", (level) => meter.showLevel(level));
  listening.on("reading", (reading) => view.add(reading));
  listening.on("count", (seconds) => meter.showCount(seconds));
  listening.on("dropped", (why) => meter.showNotKept(why));
  listening.on("trouble", showTroubleOf);
  listening.on("open", (microphone) => {
    meter.begin(microphone);
    offerMicrophones(microphone);
  });
  const choice = findSelect("microphone");
  choice.addEventListener("change", () => {
    remember(DEVICE, choice.value);
    listen(listening, true);
  });
  window.addEventListener("pagehide", () => listening.stop());
}

start();
