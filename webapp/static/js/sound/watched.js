// @ts-check
// Takes that were played with an eye on the live pitch: the field that says so, and who has it.
// Who watches a trace closes the gap with the lip, so such a take proves the lip and not the keys.

/** What is sent with such a take; one without the field was played without watching. */
export const WATCHED = { is_watched: "1" };

/** @param {{fields?: Record<string, string>}} take that was cut, or that waits */
export function isWatched({ fields }) {
  return fields?.is_watched === WATCHED.is_watched;
}
