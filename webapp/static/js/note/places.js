// @ts-check
// Places on a staff, as the server draws it: a step is a line or space counted from the bottom line,
// five units high, and the bottom line lies at 120.

const BOTTOM_LINE_Y = 120;
const HALF_SPACE = 5;
const LINES_BETWEEN = 2;
const FIRST_ABOVE = 10;
const FIRST_BELOW = -2;

/** The steps that need a ledger line for a note on a step. @param {number} step */
export function ledgerSteps(step) {
  const steps = [];
  for (let line = FIRST_ABOVE; line <= step; line += LINES_BETWEEN) steps.push(line);
  for (let line = FIRST_BELOW; line >= step; line -= LINES_BETWEEN) steps.push(line);
  return steps;
}

/** The step at a height in the view box. @param {number} y */
export const stepAt = (y) => Math.round((BOTTOM_LINE_Y - y) / HALF_SPACE);

/** The height of a step in the view box. @param {number} step */
export const heightOf = (step) => BOTTOM_LINE_Y - step * HALF_SPACE;
