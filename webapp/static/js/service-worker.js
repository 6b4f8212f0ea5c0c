// @ts-check
// The service worker: the notebook can still be read when the computer it runs on is away.
//
// Files of the app are fetched at once when the worker is installed. Pages, and the drawings and
// clips on them, are asked of the server first; the last copy is the way back. Nothing else is kept:
// no answer to a form, no table, no PDF, no JSON. How copies are kept stands in worker-copies.js.
//
// The server writes one line above this text: SETTINGS = { version, files, patienceMs }.

/* global SETTINGS, FILES, find, forget, keep, listCopies, dropOldCopies, MARK, NOBODY, TITLE, KEPT_AT */

importScripts("/static/js/worker-copies.js");

/** @typedef {(event: FetchEvent) => Promise<Response>} Answerer */

const scope = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const OFFLINE = "/offline";
const LARGEST_CLIP_BYTES = 16_000_000;
const NO_PAGE = /\.(pdf|csv|json|xml|toml|svg|png|wav)$/;

let isAway = false;

scope.addEventListener("install", (event) => event.waitUntil(fetchFiles()));
scope.addEventListener("activate", (event) => event.waitUntil(dropOldCopies().then(() => scope.clients.claim())));
scope.addEventListener("fetch", (event) => {
  const answer = chooseAnswer(event.request);
  if (answer) event.respondWith(answer(event));
});
scope.addEventListener("message", (event) => {
  if (event.data.keep) event.waitUntil(fetchAndKeepPage(event.data.keep));
  if (event.data.take) event.waitUntil(takeAlong(event.data.take).then((isTaken) => event.ports[0].postMessage(isTaken)));
  if (event.data.list) event.waitUntil(listCopies().then((list) => event.ports[0].postMessage(list)));
});

async function fetchFiles() {
  const cache = await caches.open(FILES);
  // "no-cache" asks the server whether a file is new; the faces come with a month's leave.
  const fresh = (/** @type {string} */ path) => new Request(path, { cache: path.startsWith("/fonts/") ? "default" : "no-cache" });
  await cache.addAll([...SETTINGS.files, OFFLINE].map(fresh));
  await scope.skipWaiting();
}

/** @param {Request} request @returns {Answerer | null} */
function chooseAnswer(request) {
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== scope.location.origin) return null;
  if (request.mode === "navigate") return NO_PAGE.test(url.pathname) ? null : answerPage;
  if (/^\/(static|fonts)\//.test(url.pathname)) return answerFile;
  if (request.destination === "image") return answerDrawing;
  return ["audio", "video"].includes(request.destination) ? answerClip : null;
}

// Pages

/** @type {Answerer} */
async function answerPage(event) {
  const path = pathOf(event.request.url);
  const arriving = fetchPage(event);
  event.waitUntil(arriving.catch(() => undefined)); // a late page is still kept
  try {
    const late = sleep(SETTINGS.patienceMs).then(() => findPage(path));
    const first = await Promise.race([arriving, late]);
    return first ?? await arriving; // without a copy there is nothing to do but wait on
  } catch {
    return (await findPage(path)) ?? await answerOffline();
  }
}

/** @type {Answerer} */
async function fetchPage(event) {
  const response = await fetch(event.request);
  isAway = false;
  event.waitUntil(keepPage(pathOf(event.request.url), response.clone()));
  return response;
}

/** @param {string} path */
async function fetchAndKeepPage(path) {
  const response = await fetch(path, { headers: { Accept: "text/html" } });
  if (!response.redirected) await keepPage(path, response);
}

/**
 * Put a page and its pictures away for a concert: they stay whatever is opened afterwards.
 * @param {string[]} paths
 * @returns {Promise<boolean>} whether all of them lie here
 */
async function takeAlong(paths) {
  try {
    for (const path of paths) {
      const response = await fetch(path);
      if (response.status !== 200 || response.redirected) return false;
      const isPage = (response.headers.get("Content-Type") ?? "").startsWith("text/html");
      await (isPage ? keepPage(path, response, "concert") : keep("concert", path, response));
    }
    const found = await Promise.all(paths.map((path) => find("concert", path)));
    return found.every(Boolean);
  } catch {
    return false;
  }
}

/** @param {string} path @param {Response} response @param {Kind} [kind] */
async function keepPage(path, response, kind = "pages") {
  if (response.headers.get(MARK) === NOBODY) return forget();
  const isPage = (response.headers.get("Content-Type") ?? "").startsWith("text/html");
  // A page with Refresh waits for something that is still being computed.
  if (!isPage || response.status !== 200 || response.headers.has("Refresh")) return undefined;
  const text = await response.text();
  const headers = new Headers(response.headers);
  headers.set(KEPT_AT, new Date().toISOString());
  headers.set(TITLE, encodeURIComponent(/<title>(.*?) ·/s.exec(text)?.[1] ?? path));
  return keep(kind, path, new Response(text, { headers }));
}

/** @param {string} path */
async function findPage(path) {
  const copy = (await find("pages", path)) ?? await find("concert", path);
  if (!copy) return undefined;
  isAway = true;
  // The page learns from its own first tag that it is a copy; offline.js says it in words.
  const marked = (await copy.text()).replace("<html ", `<html data-copied-at="${copy.headers.get(KEPT_AT)}" `);
  return new Response(marked, { headers: copy.headers });
}

async function answerOffline() {
  isAway = true;
  const page = await caches.match(OFFLINE, { cacheName: FILES });
  return new Response(await page?.text(), { status: 503, headers: page?.headers });
}

// Files of the app, drawings, clips

/** @type {Answerer} */
async function answerFile(event) {
  const wanted = () => caches.match(event.request, { cacheName: FILES, ignoreSearch: true, ignoreVary: true });
  // Once the server was found away, a page need not wait for every one of its files.
  const early = isAway ? await wanted() : undefined;
  if (early) return early;
  try {
    return await fetch(event.request);
  } catch {
    return (await wanted()) ?? Response.error();
  }
}

/** @type {Answerer} */
async function answerDrawing(event) {
  const path = pathOf(event.request.url);
  try {
    const response = await fetch(event.request);
    if (response.status === 200) event.waitUntil(keep("drawings", path, response.clone()));
    return response;
  } catch {
    return (await find("drawings", path)) ?? (await find("concert", path)) ?? Response.error();
  }
}

/** @type {Answerer} */
async function answerClip(event) {
  const path = pathOf(event.request.url);
  try {
    const response = await fetch(event.request);
    if (isWholeClip(response)) event.waitUntil(keep("clips", path, response.clone()));
    return response;
  } catch {
    const clip = await find("clips", path);
    return clip ? cutRange(clip, event.request.headers.get("Range")) : Response.error();
  }
}

// A player asks for "bytes=0-" and gets everything as a part (206): that is the whole clip too.
/** @param {Response} response */
function isWholeClip(response) {
  const range = /^bytes 0-(\d+)\/(\d+)$/.exec(response.headers.get("Content-Range") ?? "");
  const isWhole = range ? Number(range[1]) === Number(range[2]) - 1 : response.status === 200;
  return isWhole && Number(response.headers.get("Content-Length")) <= LARGEST_CLIP_BYTES;
}

/** @param {Response} clip @param {string | null} range */
async function cutRange(clip, range) {
  const [, from, to] = /^bytes=(\d+)-(\d*)$/.exec(range ?? "") ?? [];
  if (from === undefined) return clip;
  const sound = await clip.blob();
  const first = Number(from);
  const last = Math.min(to ? Number(to) : sound.size - 1, sound.size - 1);
  const headers = new Headers(clip.headers);
  headers.set("Content-Range", `bytes ${first}-${last}/${sound.size}`);
  headers.set("Content-Length", String(last - first + 1));
  return new Response(sound.slice(first, last + 1), { status: 206, headers });
}

/** @param {string} address */
function pathOf(address) {
  const { pathname, search } = new URL(address);
  return pathname + search;
}

/** @param {number} milliseconds */
function sleep(milliseconds) {
  return new Promise((done) => setTimeout(done, milliseconds));
}
