// @ts-check
// What a key or a foot pedal asks for. Pedals send Page Up and Page Down, or arrows.

/** @typedef {import("./walk.js").Step} Step */
/** @typedef {Step | "listen"} Wish what a key asks for */

/** @type {Map<string, Step>} */
const STEPS = new Map(Object.entries({
  PageDown: "next-target",
  ArrowRight: "next-target",
  PageUp: "previous-target",
  ArrowLeft: "previous-target",
  ArrowDown: "next-candidate",
  ArrowUp: "previous-candidate",
}));
const TYPING = "input, textarea, select, [contenteditable], [role=slider], audio, video";
const PRESSABLE = `a, button, summary, [tabindex], ${TYPING}`;

/**
 * @param {KeyboardEvent} event
 * @returns {Wish | null} null where the key is not ours: while somebody types, with a
 *   modifier, or on something that Space and Enter press themselves
 */
export function readKey(event) {
  if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return null;
  const place = event.target instanceof Element ? event.target : null;
  if (place?.closest(TYPING)) return null;
  const step = STEPS.get(event.key);
  if (step) return step;
  const isPress = event.key === " " || event.key === "Enter";
  return isPress && !place?.closest(PRESSABLE) ? "listen" : null;
}
