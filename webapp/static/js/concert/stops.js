// @ts-check
// Which stop of a page comes next. Nothing here knows a page.

/** A stop within so many pixels of the top is where one is. */
const NEAR_PX = 8;

/**
 * @param {number[]} tops of the stops, in pixels from the top of the screen, in their order
 * @param {number} by 1 for the next, -1 for the one before
 * @returns {number | null} null where there is none that way
 */
export function findNextStop(tops, by) {
  const ahead = tops.findIndex((top) => top > NEAR_PX);
  if (by > 0) return ahead < 0 ? null : ahead;
  const behind = tops.findLastIndex((top) => top < -NEAR_PX);
  return behind < 0 ? null : behind;
}
