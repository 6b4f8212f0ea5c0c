// @ts-check
// The page of the concert: a pedal goes from stop to stop, the screen stays on, and all of it is put
// away on this device, to be read without network. Nothing here opens a microphone.

import { find, findAll, show, write } from "../dom.js";
import { Awake } from "../sound/awake.js";
import { readKey } from "../stand/pedal.js";
import { findNextStop } from "./stops.js";

const BY_WISH = new Map([["next-target", 1], ["previous-target", -1]]);
const PATIENCE_MS = 60_000;
const KEPT = "Everything on this page lies on this device now and opens without network.";
const NOT_KEPT = "This browser keeps no pages: print it, or open the PDF on this device.";
const STAYS_ON = "The screen stays on while this page is open.";
const GOES_DARK = "This browser cannot keep the screen on: set it to stay on in the settings of the device.";

const stops = findAll(document, "[data-stop]");

document.addEventListener("keydown", (event) => {
  const wish = readKey(event);
  const by = wish && BY_WISH.get(wish);
  if (!by) return;
  const next = findNextStop(stops.map((stop) => stop.getBoundingClientRect().top), by);
  if (next === null) return;
  event.preventDefault();
  stops[next].scrollIntoView({ block: "start" });
});

/** Let the service worker put pages and pictures away. @param {string[]} paths @returns {Promise<boolean>} whether all are */
async function takeAlong(paths) {
  const { active } = await navigator.serviceWorker.ready;
  if (!active) return false;
  const channel = new MessageChannel();
  /** @type {Promise<boolean>} */
  const answer = new Promise((done) => {
    channel.port1.onmessage = (event) => done(event.data);
    setTimeout(() => done(false), PATIENCE_MS);
  });
  active.postMessage({ take: paths }, [channel.port2]);
  return answer;
}

async function keepHere() {
  const place = find(document, "[data-taken]");
  if (document.documentElement.dataset.copiedAt) {
    write(place, KEPT);
    return;
  }
  const pictures = findAll(document, ".own-page image", SVGImageElement).map(({ href }) => href.baseVal);
  let isKept = false;
  try {
    isKept = "serviceWorker" in navigator && await takeAlong([location.pathname + location.search, ...pictures]);
  } catch {
    // private windows and full disks refuse it
  }
  write(place, isKept ? KEPT : NOT_KEPT);
}

function stayAwake() {
  const place = find(document, "[data-awake]");
  const canStay = "wakeLock" in navigator;
  if (canStay) new Awake().hold();
  write(place, canStay ? STAYS_ON : GOES_DARK);
  show(place);
}

stayAwake();
keepHere();
