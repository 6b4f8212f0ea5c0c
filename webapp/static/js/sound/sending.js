// @ts-check
// One take on its way to the notebook, and what its answer means for it.

/**
 * @typedef {object} Sendable what is known of a take that waits
 * @property {string} url where it goes
 * @property {Record<string, string>} fields of the form it goes with
 * @property {number} keptAt when it was played, in milliseconds since 1970
 * @property {string} notebook the mark of the one it was played into; "" where it is not known
 */

/**
 * @typedef {object} MeasuredTake what the notebook answers
 * @property {number} take its number there
 * @property {number | null} fingering that it is of; null: it is unsorted
 * @property {boolean} counts
 * @property {import("../said.js").Said} standing why it does not count; "" where its verdict says it
 * @property {import("../said.js").Said} played what it sounded like, to the nearest quarter tone
 * @property {string} url its page
 * @property {string | null} figure
 * @property {boolean} is_usable
 * @property {string} words
 * @property {string[]} warnings
 * @property {number | null} offset_cents
 * @property {number | null} uncertainty_cents
 * @property {Pooled | null} pooled
 * @property {Loop} [loop] of a slur back and forth: what was measured; the rest is then left out
 * @property {LoopPooled | null} [pooled_loop] what the loops of its pair say together
 * @property {Standing[]} [standings] what the takes of its fingering count for now
 */

/** @typedef {{offset_cents: number, uncertainty_cents: number, take_count: number}} Pooled */
/** @typedef {{figure: string, ways: string, words: string}} Loop */
/** @typedef {{ways: string, rate: string}} LoopPooled */
/** @typedef {{take: number, counts: boolean, standing: import("../said.js").Said}} Standing */

/** @typedef {{csrf_token?: string, notebook?: string, now?: string}} TokenBody */
/** @typedef {{error?: {message?: string, kind?: string}}} RefusalBody */
/** @typedef {{status: number, body: (MeasuredTake & TokenBody & RefusalBody) | null}} Answer */
/** @typedef {{result?: MeasuredTake, refusal?: string, isElsewhere?: true}} Outcome */

const PATIENCE_MS = 60_000;
const FRESH_MS = 10_000;
/** Refusals that say something about the page or the moment, and nothing about the take. */
const FOR_NOW = new Set([401, 403, 408, 425, 429]);

const NO_ANSWER =
  "The notebook does not answer. The take waits in this browser and is sent when it does.";
const NOT_THE_NOTEBOOK =
  "Something answers, but not the notebook. The take waits in this browser; reload the page to see what it is.";

/** @typedef {{token: string, notebook: string, aheadMs: number}} Held */

/** What a page may send with, fetched when it is needed: takes may wait for days. */
export class Pass {
  /** @type {Held | null} */
  #held = null;

  /**
   * @param {boolean} [isAnew] the one before was not accepted
   * @returns {Promise<Held>} with how far the notebook's
   *   clock is ahead of this one
   * @throws {Late}
   */
  async get(isAnew = false) {
    if (this.#held && !isAnew) return this.#held;
    const { status, body } = await ask("/token.json", { cache: "no-store" });
    if (status !== 200 || !body?.csrf_token) throw new Late(body?.error?.message ?? NOT_THE_NOTEBOOK);
    this.#held = {
      token: body.csrf_token,
      notebook: body.notebook ?? "",
      aheadMs: Date.parse(body.now ?? "") - Date.now(),
    };
    return this.#held;
  }
}

/** A take could not be sent now; it can be later. */
export class Late extends Error {
  /**
   * @param {string} message
   * @param {boolean} [isSilent] nothing answers at all, so no other take can be sent either
   */
  constructor(message, isSilent = false) {
    super(message);
    this.isSilent = isSilent;
  }
}

/**
 * Send one take.
 * @param {Sendable} take
 * @param {Blob} sound
 * @param {Pass} pass
 * @returns {Promise<Outcome>}
 * @throws {Late}
 */
export async function sendTake(take, sound, pass) {
  const first = await send(take, sound, await pass.get());
  const isAgain = first !== null && isForNow(first);
  const answer = isAgain ? await send(take, sound, await pass.get(true)) : first;
  return answer === null ? { isElsewhere: true } : judge(answer);
}

/**
 * @param {Sendable} take
 * @param {Blob} sound
 * @param {Held} held
 * @returns {Promise<Answer | null>} null: another notebook answers
 */
async function send(take, sound, held) {
  if (take.notebook && held.notebook !== take.notebook) return null;
  return ask(take.url, { method: "POST", body: formOf(take, sound, held) });
}

/** @param {Sendable} take @param {Blob} sound @param {Held} held */
function formOf(take, sound, { token, aheadMs }) {
  const form = new FormData();
  form.set("csrf_token", token);
  for (const [name, value] of Object.entries(take.fields)) form.set(name, value);
  // What is sent at once happens now, by the notebook's clock.
  if (Date.now() - take.keptAt > FRESH_MS && !form.has("recorded_at")) {
    form.set("recorded_at", new Date(take.keptAt + aheadMs).toISOString());
  }
  form.set("clip", sound, nameOf(take));
  return form;
}

/** A file name that says when the take was played. @param {{keptAt: number}} take */
export function nameOf({ keptAt }) {
  const moment = new Date(keptAt - new Date(keptAt).getTimezoneOffset() * 60_000).toISOString();
  return `take ${moment.slice(0, 19).replace("T", " ").replaceAll(":", "-")}.wav`;
}

/** @param {string} url @param {RequestInit} options @returns {Promise<Answer>} */
async function ask(url, options) {
  /** @type {Response} */
  let response;
  try {
    response = await fetch(url, { ...options, redirect: "manual", signal: AbortSignal.timeout(PATIENCE_MS) });
  } catch {
    throw new Late(NO_ANSWER, true);
  }
  const body = await response.json().catch(() => null);
  return { status: response.status, body };
}

/** @param {Answer} answer */
function isForNow({ status, body }) {
  return FOR_NOW.has(status) || body?.error?.kind === "token";
}

/** @param {Answer} answer @returns {Outcome} */
function judge(answer) {
  const { status, body } = answer;
  if (status === 200 || status === 201) {
    if (body && !body.error) return { result: body };
    throw new Late(NOT_THE_NOTEBOOK);
  }
  // Only the notebook itself may refuse a take for good; it does so in its own form.
  const message = body?.error?.message;
  if (!message) throw new Late(NOT_THE_NOTEBOOK);
  if (isForNow(answer) || status >= 500) throw new Late(message);
  return { refusal: message };
}
