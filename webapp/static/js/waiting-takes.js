// @ts-check
// On every page: send the takes that wait in this browser, and say how many there are and why.

import { find, make, show, write } from "./dom.js";
import { writeSaid } from "./notes.js";
import { inWords, partsOf } from "./said.js";
import { Outbox } from "./sound/outbox.js";
import { takeButtons } from "./take-buttons.js";

const moment = new Intl.DateTimeFormat("en-GB", { dateStyle: "medium", timeStyle: "short" });
const ELSEWHERE = "Played into another notebook at this address; it is sent when that one is open.";
const NOT_YET = "It is sent when the notebook answers.";

/** @param {import("./sound/outbox.js").Counts} counts */
function sayCounts({ waiting, refused, elsewhere }) {
  const takes = (/** @type {number} */ count) => `${count} ${count === 1 ? "take" : "takes"}`;
  const waits = (/** @type {number} */ count) => (count === 1 ? "waits" : "wait");
  const parts = [];
  if (waiting) parts.push(`${takes(waiting)} ${waits(waiting)} in this browser`);
  if (refused) parts.push(`${takes(refused)} could not be kept`);
  if (elsewhere) parts.push(`${takes(elsewhere)} ${waits(elsewhere)} for another notebook`);
  return parts.join(" · ");
}

/** The line with its list, made when it is first needed. */
function makeLine() {
  const line = make("aside", "waiting-takes");
  line.setAttribute("aria-label", "Takes that wait in this browser");
  const details = make("details");
  const summary = make("summary");
  const list = make("ul");
  details.append(summary, list);
  line.append(details);
  find(document, "main").append(line);
  return { line, details, summary, list };
}

/** @param {Outbox} outbox @param {import("./sound/outbox.js").Item} item */
function makeRow(outbox, item) {
  const row = make("li");
  const what = item.said ?? item.label;
  const why = item.state === "elsewhere" ? ELSEWHERE : item.message || NOT_YET;
  const line = make("p");
  const when = moment.format(item.keptAt);
  writeSaid(line, inWords(what) ? [...partsOf(what), `, ${when}. ${why}`] : `${when}. ${why}`);
  row.append(line, takeButtons(outbox, item));
  return row;
}

async function start() {
  const outbox = await Outbox.open();
  /** @type {ReturnType<typeof makeLine> | null} */
  let shown = null;
  let isAtRisk = false;

  async function fill() {
    const items = await outbox.list();
    isAtRisk = items.some(({ isLasting }) => !isLasting);
    if (shown?.details.open) shown.list.replaceChildren(...items.map((item) => makeRow(outbox, item)));
  }

  outbox.on("change", (counts) => {
    const words = sayCounts(counts);
    if (!shown && !words) return;
    if (!shown) {
      shown = makeLine();
      shown.details.addEventListener("toggle", fill);
    }
    write(shown.summary, words);
    show(shown.line, words !== "");
    fill();
  });
  // Only takes that end with this page hold it back.
  window.addEventListener("beforeunload", (event) => {
    if (isAtRisk) event.preventDefault();
  });
}

start();
