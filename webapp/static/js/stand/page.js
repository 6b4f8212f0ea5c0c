// @ts-check
// The targets as the page holds them, read once. A page element is shown or hidden, never made anew.

import { findAll, show } from "../dom.js";

/**
 * @typedef {{element: HTMLElement, url: string, keys: string, shiftCents: number,
 *   bestTake?: string}} Candidate
 * @typedef {{element: HTMLElement, hz: number, name: string, label: string, written: string,
 *   root: {hz: number, label: string, ratio: string} | null, candidates: Candidate[]}} Target
 * @typedef {{target: number, candidate: number}} Place
 */

/** @param {HTMLElement} element @returns {Candidate} */
function readCandidate(element) {
  const { takeUrl = "", keys = "", shiftCents, bestTake } = element.dataset;
  return { element, url: takeUrl, keys, shiftCents: Number(shiftCents), bestTake };
}

/** @param {HTMLElement} stand @returns {Target[]} */
export function readTargets(stand) {
  return findAll(stand, "[data-target]").map((element) => {
    const { hz, name = "", label = "", written = "", rootHz, rootLabel = "", ratio = "" } = element.dataset;
    const root = rootHz ? { hz: Number(rootHz), label: rootLabel, ratio } : null;
    const candidates = findAll(element, "[data-candidate]").map(readCandidate);
    return { element, hz: Number(hz), name, label, written, root, candidates };
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
 * A name for the takes of one fingering for one target.
 * @param {Pick<Target, "name">} target
 * @param {Pick<Candidate, "keys">} candidate
 */
export function labelOf({ name }, { keys }) {
  return `${name}, ${keys}`;
}

/**
 * Where a take belongs: one fingering may stand under several targets, and the label tells them apart.
 * @param {Target[]} targets
 * @param {{url: string, label: string}} take
 * @returns {{target: number, name: string, candidate: Candidate} | null}
 */
export function findPlace(targets, { url, label }) {
  const found = targets.flatMap((each, target) =>
    each.candidates
      .filter((candidate) => candidate.url === url)
      .map((candidate) => ({ target, name: each.name, candidate, label: labelOf(each, candidate) })));
  return found.find((one) => one.label === label) ?? found[0] ?? null;
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
  const place = targets.length > 1 ? `Target ${target + 1} of ${targets.length}: ${name}.` : `${name}.`;
  const { keys } = candidates[candidate];
  if (!keys) return `${place} No fingering yet.`;
  const which = candidates.length > 1 ? `Fingering ${candidate + 1} of ${candidates.length}: ` : "";
  return `${place} ${which}${keys}.`;
}
