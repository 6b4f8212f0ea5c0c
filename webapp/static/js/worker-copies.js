// @ts-check
// The copies that the service worker keeps, apart for each notebook and each version of the app.
//
// Every page says in the header Quartervent-Notebook which notebook it belongs to. A demo may have
// answered at this address yesterday, so only copies of the notebook that answered last are shown,
// and those of a demo go when another notebook answers. The mark "none" (the sign-in page) means that
// this browser is signed out: then every copy goes. What other parts keep (IndexedDB, drafts) stays.

/* exported find, forget, keep, listCopies, dropOldCopies */
/* global SETTINGS */

const OURS = "quartervent-";
const FILES = `${OURS}files-${SETTINGS.version}`;
const STATE = `${OURS}state`;
const LAST_MARK = "/last-notebook";
const MARK = "Quartervent-Notebook";
const NOBODY = "none";
const DEMO = "-demo-";
const KEPT_AT = "Quartervent-Kept-At";
const TITLE = "Quartervent-Title";
const PATH = "Quartervent-Path";
/** @typedef {"pages" | "drawings" | "clips" | "concert"} Kind of a copy */

// What was taken to a concert is apart: nothing that is opened later pushes it out.
/** @type {Record<Kind, number>} */
const LIMITS = { pages: 60, drawings: 200, clips: 40, concert: 400 };

/** @type {string | null} */
let lastMark = null;

/**
 * Keep an answer; the oldest beyond the limit of its kind goes.
 * @param {Kind} kind
 * @param {string} path
 * @param {Response} response
 */
async function keep(kind, path, response) {
  const mark = response.headers.get(MARK);
  if (!mark || mark === NOBODY) return;
  if (mark !== await readLastMark()) await meet(mark);
  const headers = new Headers(response.headers);
  headers.delete("Content-Range"); // a whole clip that came as a part
  headers.set(PATH, path);
  const copy = new Response(await response.blob(), { headers });
  const cache = await caches.open(await nameCache(kind));
  await cache.delete(path, { ignoreVary: true }); // so that the newest stands last
  await cache.put(path, copy);
  const kept = await cache.keys();
  const old = kept.slice(0, Math.max(0, kept.length - LIMITS[kind]));
  await Promise.all(old.map((request) => cache.delete(request, { ignoreVary: true })));
}

/**
 * Find a copy that belongs to the notebook that answered last.
 * @param {Kind} kind
 * @param {string} path
 */
async function find(kind, path) {
  return (await caches.open(await nameCache(kind))).match(path, { ignoreVary: true });
}

/** Name the pages that are kept, the newest first. */
async function listCopies() {
  const [pages, taken] = await Promise.all(/** @type {Kind[]} */ (["pages", "concert"]).map(async (kind) =>
    (await caches.open(await nameCache(kind))).matchAll()));
  const known = new Set(pages.map(({ headers }) => headers.get(PATH)));
  const others = taken.filter(({ headers }) => headers.has(TITLE) && !known.has(headers.get(PATH)));
  return [...others, ...pages].toReversed().map(({ headers }) => ({
    path: headers.get(PATH),
    title: decodeURIComponent(headers.get(TITLE) ?? ""),
    keptAt: headers.get(KEPT_AT),
  }));
}

/** Drop every copy: this browser is signed out. */
async function forget() {
  await meet(NOBODY);
  await dropCaches((name) => name !== FILES && name !== STATE);
}

/** Drop what another version of the app kept: its files and pages may not fit together. */
async function dropOldCopies() {
  await dropCaches((name) => name !== STATE && !name.includes(`-${SETTINGS.version}`));
}

/** @param {string} mark */
async function meet(mark) {
  lastMark = mark;
  await (await caches.open(STATE)).put(LAST_MARK, new Response(mark));
  await dropCaches((name) => name.includes(DEMO) && !name.endsWith(`-${mark}`));
}

async function readLastMark() {
  lastMark ??= await (await caches.match(LAST_MARK, { cacheName: STATE }))?.text() ?? NOBODY;
  return lastMark;
}

/** @param {Kind} kind */
async function nameCache(kind) {
  return `${OURS}${kind}-${SETTINGS.version}-${await readLastMark()}`;
}

/** @param {(name: string) => boolean} isUnwanted */
async function dropCaches(isUnwanted) {
  const names = (await caches.keys()).filter((name) => name.startsWith(OURS) && isUnwanted(name));
  await Promise.all(names.map((name) => caches.delete(name)));
}
