// @ts-check
// The targets as the page holds them, read once. A page element is shown or hidden, never made anew.

import { findAll, show } from "../dom.js";

/**
 * @typedef {object} Candidate
 * @property {HTMLElement} element
 * @property {string} url where its takes go
 * @property {boolean} isShared others send their takes to the same place: the label tells them apart
 * @property {boolean} isSuggested predicted for this note, and not logged yet
 * @property {boolean} isLoop two fingerings to slur back and forth between
 * @property {Record<string, string>} fields what is sent with its takes
 * @property {string} keys
 * @property {number} shiftCents
 * @property {string} [bestTake]
 */
/**
 * "hz" is null and "written" empty where no note is asked for.
 * "suggestionsUrl" is empty where none are to come.
 * @typedef {{element: HTMLElement, hz: number | null, name: string, note: import("../said.js").Said, written: string,
 *   suggestionsUrl: string, root: {hz: number, label: import("../said.js").Said, ratio: string} | null,
 *   candidates: Candidate[]}} Target
 * @typedef {{target: number, candidate: number}} Place
 */

/** @param {HTMLElement} element @returns {Candidate} */
function readCandidate(element) {
  const { takeUrl: url = "", isShared, isLoop, suggested, fields = "{}", keys = "", shiftCents, bestTake } = element.dataset;
  return {
    element, url, isShared: isShared !== undefined, isSuggested: suggested !== undefined,
    isLoop: isLoop !== undefined,
    fields: JSON.parse(fields), keys, shiftCents: Number(shiftCents), bestTake,
  };
}

/**
 * Put suggestions that came later before what a target has; how many they are.
 * @param {Target} target
 * @param {HTMLElement[]} elements
 */
export function addSuggestions(target, elements) {
  const first = target.candidates[0];
  for (const element of elements) first.element.before(element);
  target.candidates.unshift(...elements.map(readCandidate));
  return elements.length;
}

/** Whether a step forward goes through its fingerings first. @param {Target} target */
export const isPaged = ({ candidates }) => candidates[0].isSuggested;

/** @param {HTMLElement} stand @returns {Target[]} */
export function readTargets(stand) {
  return findAll(stand, "[data-target]").map((element) => {
    const { hz, name = "", note = "null", written = "", suggestionsUrl = "" } = element.dataset;
    const { rootHz, rootNote = "", ratio = "" } = element.dataset;
    const root = rootHz ? { hz: Number(rootHz), label: JSON.parse(rootNote), ratio } : null;
    const candidates = findAll(element, "[data-candidate]").map(readCandidate);
    const target = { element, hz: hz ? Number(hz) : null, name, note: JSON.parse(note) ?? name };
    return { ...target, written, suggestionsUrl, root, candidates };
  });
}

/**
 * Which target comes first: one that is named (by the address, or by where one was), else an open one.
 * @param {Target[]} targets
 * @param {string | undefined} name
 */
export function findStart(targets, name) {
  const named = targets.findIndex(({ element }) => element.id === name);
  if (named >= 0) return named;
  const open = targets.findIndex(({ element }) => (element.dataset.state ?? "open") === "open");
  return Math.max(open, 0);
}

/**
 * A name for the takes of one fingering for one target, or of none.
 * @param {Pick<Target, "name">} target
 * @param {Pick<Candidate, "keys">} candidate
 */
export function labelOf({ name }, { keys }) {
  return keys ? `${name}, ${keys}` : name;
}

/**
 * Where a take belongs: one fingering may stand under several targets, and the label tells them apart.
 * Takes of suggestions and unsorted ones go to one address, so only the label says where they belong.
 * @param {Target[]} targets
 * @param {{url: string, label: string}} take
 * @returns {{target: number, name: string, candidate: Candidate} | null}
 */
export function findPlace(targets, { url, label }) {
  const found = targets.flatMap((each, target) =>
    each.candidates
      .filter((candidate) => candidate.url === url)
      .map((candidate) => ({ target, name: each.name, candidate, label: labelOf(each, candidate) })));
  return found.find((one) => one.label === label) ?? found.find(({ candidate }) => !candidate.isShared) ?? null;
}

/** Show one fingering of one target and hide everything else. @param {Target[]} targets @param {Place} place */
export function showPlace(targets, { target, candidate }) {
  for (const [at, each] of targets.entries()) {
    show(each.element, at === target);
    for (const [number, one] of each.candidates.entries()) show(one.element, number === candidate);
  }
}

/** The place in words, for those who do not see it. @param {Target[]} targets @param {Place} place */
export function describePlace(targets, { target, candidate }) {
  const { name, candidates } = targets[target];
  const place = targets.length > 1 ? `Note ${target + 1} of ${targets.length}: ${name}.` : `${name}.`;
  const { keys, isSuggested, isLoop } = candidates[candidate];
  if (isLoop) return `${place} Slur back and forth.`;
  if (!keys) return `${place} ${candidates.length > 1 ? "Any fingering" : "No fingering yet"}.`;
  const kind = isSuggested ? "Suggestion" : "Fingering";
  const which = candidates.length > 1 ? `${kind} ${candidate + 1} of ${candidates.length}: ` : "";
  return `${place} ${which}${keys}.`;
}
