// @ts-check
// What a list of takes says of a take that was measured: a figure, a reason, and where to go.

import { inWords, joinSaid } from "./said.js";
import { formatCents, OTHER_NOTE_CENTS } from "./sound/pitch-words.js";

/** @typedef {import("./sound/sending.js").MeasuredTake} MeasuredTake */
/** @typedef {import("./said.js").Said} Said */

/**
 * @typedef {object} Told
 * @property {Said} figure
 * @property {Said} words why it does not count, or what the recording lacks
 * @property {string} spoken all of it, for those who do not see it
 * @property {{url: string, words: string}} link
 * @property {boolean} isAside it is kept and does not count
 * @property {boolean} isUnsorted it belongs to no fingering
 * @property {number | null} markCents where it lies from the target on the stand; null: nowhere near
 */

/**
 * @typedef {object} Place on the stand where it was played
 * @property {string} name of the target
 * @property {Said} note the target
 * @property {boolean} isAsked a note is asked for
 * @property {number} shiftCents how far what the fingering was logged for lies from the target
 * @property {string} unsortedUrl where unsorted takes are
 */

/** Whether a take is kept with its fingering, and not counted. @param {MeasuredTake} result */
export function isSetAside({ fingering, counts, standing }) {
  return fingering !== null && !counts && inWords(standing) !== "";
}

/**
 * Whether a take sounded so far away that the note that was played says more than a number of cents.
 * @param {MeasuredTake} result
 */
export function isElsewhere(result) {
  const { fingering, offset_cents: cents } = result;
  return (fingering === null || isSetAside(result)) && cents !== null && Math.abs(cents) > OTHER_NOTE_CENTS;
}

/**
 * The results that stand otherwise than they did, as they stand now.
 * @param {MeasuredTake[]} results of the takes on a page
 * @param {import("./sound/sending.js").Standing[]} standings what takes count for now
 * @returns {MeasuredTake[]}
 */
export function findRestood(results, standings) {
  const now = new Map(standings.map((each) => [each.take, each]));
  return results.flatMap((result) => {
    const { counts, standing } = now.get(result.take) ?? result;
    const isSame = counts === result.counts && inWords(standing) === inWords(result.standing);
    return isSame ? [] : [{ ...result, counts, standing }];
  });
}

/**
 * @param {MeasuredTake} result
 * @param {Place} place
 * @returns {Told}
 */
export function tellTake(result, place) {
  if (result.fingering === null) return tellUnsorted(result, place);
  const { name, shiftCents } = place;
  const cents = result.offset_cents === null ? null : result.offset_cents + shiftCents;
  const figure = isElsewhere(result) ? result.played : describeOffset(result, shiftCents);
  const isAside = isSetAside(result);
  const reason = result.is_usable ? "" : result.words;
  const words = isAside ? result.standing : joinSaid(reason, ...result.warnings);
  const spoken = isAside ? `${name}: ${inWords(figure)}. ${inWords(words)}` : `${name}: ${reason || `${inWords(figure)}.`}`;
  const link = { url: result.url, words: isAside ? "What was it?" : "Open" };
  return { figure, words, spoken, link, isAside, isUnsorted: false, markCents: isAside ? null : cents };
}

/**
 * @param {MeasuredTake} result
 * @param {import("./sound/sending.js").Loop} loop
 * @param {string} name of the target
 * @returns {Told}
 */
export function tellLoop({ url }, { figure, ways, words }, name) {
  return {
    figure, words: `${ways}. ${words}`, spoken: `${name}: ${ways}, ${figure}.`, link: { url, words: "Open" },
    isAside: false, isUnsorted: false, markCents: null,
  };
}

/** @param {MeasuredTake} result @param {Place} place @returns {Told} */
function tellUnsorted(result, { note, isAsked, unsortedUrl }) {
  const cents = result.offset_cents;
  const isNear = cents !== null && Math.abs(cents) <= OTHER_NOTE_CENTS;
  const near = isAsked ? note : result.played;
  const away = isNear ? [...joinSaid(`${describeOffset(result)} from`, near), "."] : "";
  const words = joinSaid(result.is_usable ? away : result.words, result.standing);
  const figure = result.is_usable ? result.played : "no pitch";
  const spoken = `${result.is_usable ? `You played ${inWords(result.played)}. ` : ""}${inWords(words)}`;
  const link = { url: unsortedUrl, words: "Unsorted takes" };
  return { figure, words, spoken, link, isAside: true, isUnsorted: true, markCents: isNear && isAsked ? cents : null };
}

/**
 * A number with its uncertainty, as the entry pages write it.
 * @param {Pick<MeasuredTake, "offset_cents" | "uncertainty_cents">} result
 * @param {number} [shiftCents] how far what the fingering was logged for lies from the target
 */
function describeOffset({ offset_cents: offset, uncertainty_cents: uncertainty }, shiftCents = 0) {
  if (offset === null) return "no pitch";
  const give = uncertainty === null ? "" : ` ± ${formatGive(uncertainty)}`;
  return `${formatCents(offset + shiftCents, 1)}${give} cents`;
}

/** An uncertainty, rounded up: no recording proves a pitch to 0.0 (as drawing/figures.py). @param {number} cents */
export function formatGive(cents) {
  return Math.max(0.1, Math.ceil(cents * 10 - 1e-9) / 10).toFixed(1);
}
