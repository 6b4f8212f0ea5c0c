// The page's side of working without the server: start the service worker once the page is there,
// and say in words when a page is a copy. A browser without service workers notices nothing.

const moment = new Intl.DateTimeFormat("en-GB", { dateStyle: "medium", timeStyle: "short" });

/** Say when a copy was made, in the time of this place. */
function sayMoment(iso) {
  return moment.format(new Date(iso));
}

function showThatItIsACopy(copiedAt) {
  const note = document.createElement("aside");
  note.className = "copy-note";
  note.setAttribute("aria-label", "About this copy");
  const words = document.createElement("p");
  words.textContent = `This is a copy from ${sayMoment(copiedAt)}: the notebook is not answering. `
    + "What you change here cannot be kept before it runs again.";
  const again = document.createElement("button");
  again.type = "button";
  again.textContent = "Try again";
  again.addEventListener("click", () => location.reload());
  note.append(words, again);
  document.querySelector(".masthead").before(note);
}

/** Fill the list of pages that can still be read. */
async function listPages(worker, place) {
  const channel = new MessageChannel();
  const answer = new Promise((done) => {
    channel.port1.onmessage = (event) => done(event.data);
  });
  worker.postMessage({ list: true }, [channel.port2]);
  const pages = await answer;
  place.querySelector("ul").replaceChildren(...pages.map(({ path, title, keptAt }) => {
    const item = document.createElement("li");
    const link = document.createElement("a");
    link.href = path;
    link.textContent = title;
    const when = document.createElement("span");
    when.className = "muted small";
    when.textContent = sayMoment(keptAt);
    item.append(link, when);
    return item;
  }));
  place.hidden = pages.length === 0;
}

async function start() {
  const workers = navigator.serviceWorker;
  const isFirstVisit = !workers.controller;
  try {
    await workers.register("/service-worker.js");
    const { active } = await workers.ready;
    // This page came before the worker did.
    if (isFirstVisit) active.postMessage({ keep: location.pathname + location.search });
    const place = document.querySelector("[data-kept-pages]");
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
