// @ts-check
// The page's side of working without the server: start the service worker once the page is there,
// and say in words when a page is a copy. A browser without service workers notices nothing.

import { find, findOptional, make, makeButton, makeLink, show } from "./dom.js";

/** @typedef {{path: string, title: string, keptAt: string}} Copy of a page */

const moment = new Intl.DateTimeFormat("en-GB", { dateStyle: "medium", timeStyle: "short" });

/** Say when a copy was made, in the time of this place. @param {string} iso */
function sayMoment(iso) {
  return moment.format(new Date(iso));
}

/** @param {string} copiedAt */
function showThatItIsACopy(copiedAt) {
  const note = make("aside", "copy-note");
  note.setAttribute("aria-label", "About this copy");
  const words = `This is a copy from ${sayMoment(copiedAt)}: the notebook is not answering. `
    + "What you change here cannot be kept before it runs again.";
  note.append(make("p", "", words), makeButton("Try again", () => location.reload()));
  find(document, ".masthead").before(note);
}

/** Fill the list of pages that can still be read. @param {ServiceWorker} worker @param {HTMLElement} place */
async function listPages(worker, place) {
  const channel = new MessageChannel();
  /** @type {Promise<Copy[]>} */
  const answer = new Promise((done) => {
    channel.port1.onmessage = (event) => done(event.data);
  });
  worker.postMessage({ list: true }, [channel.port2]);
  const pages = await answer;
  find(place, "ul").replaceChildren(...pages.map(({ path, title, keptAt }) => {
    const item = make("li");
    item.append(makeLink(path, title), make("span", "muted small", sayMoment(keptAt)));
    return item;
  }));
  show(place, pages.length > 0);
}

async function start() {
  const workers = navigator.serviceWorker;
  const isFirstVisit = !workers.controller;
  try {
    await workers.register("/service-worker.js");
    const { active } = await workers.ready;
    if (!active) return;
    // This page came before the worker did.
    if (isFirstVisit) active.postMessage({ keep: location.pathname + location.search });
    const place = findOptional(document, "[data-kept-pages]");
    if (place) await listPages(active, place);
  } catch {
    // Private windows and full disks refuse it; the notebook works the same while it is reached.
  }
}

const { copiedAt } = document.documentElement.dataset;
if (copiedAt) showThatItIsACopy(copiedAt);
if ("serviceWorker" in navigator) {
  if (document.readyState === "complete") start();
  else window.addEventListener("load", start);
}
