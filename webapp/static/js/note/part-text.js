// @ts-check
// Text of a typed part as it is put together by touch: a note, a rest, a bar more, the last thing
// taken back. The form is that of the parser: commas between notes, ~ for a slur, (1/8) a length that
// stays, a bar a line, % the bar before once more. What was typed by hand stays as it is.

const FIRST_LENGTH = "1/4";
const LENGTH = /\(([^()]*)\)/g;

/** The length that is in force at the end of a text. @param {string} text */
export function lastLength(text) {
  const found = [...text.matchAll(LENGTH)];
  return found.length > 0 ? found[found.length - 1][1].replaceAll(" ", "") : FIRST_LENGTH;
}

/** The text of the last bar. @param {string} text */
function lastBar(text) {
  return text.slice(Math.max(text.lastIndexOf("\n"), text.lastIndexOf("|")) + 1);
}

/** Whether nothing but its number stands in the last bar. @param {string} text */
function isBarEmpty(text) {
  return /^\s*([^\s:]{1,12}:)?\s*$/.test(lastBar(text));
}

/**
 * A figure with a dot: half as long again.
 * @param {string} figure as "1/4"
 */
export function dotted(figure) {
  const [above, below] = figure.split("/").map(Number);
  return `${3 * above}/${2 * below}`;
}

/**
 * @param {string} text
 * @param {string} note its name, or "r" for a rest
 * @param {{length: string, isSlurred?: boolean}} how length as a part of a whole note
 */
export function addNote(text, note, { length, isSlurred = false }) {
  const shown = length === lastLength(text) ? note : `${note} (${length})`;
  const end = text.replace(/[ ,]+$/, "");
  if (isBarEmpty(end)) {
    const slur = isSlurred && end.trim() !== "" ? "~" : "";
    return `${end}${end === "" || end.endsWith("\n") ? "" : " "}${slur}${shown}`;
  }
  return `${end}${isSlurred ? "~" : ", "}${shown}`;
}

/** @param {string} text */
export function addBar(text) {
  const end = text.trimEnd();
  return end === "" || isBarEmpty(text) ? text : `${end}\n`;
}

/** The last bar once more, as a bar of its own. @param {string} text */
export function repeatBar(text) {
  const end = text.trimEnd();
  return end === "" ? text : `${end}\n%\n`;
}

/** What was put in last: the last bar in which something stands. @param {string} text */
export function tellLast(text) {
  const bar = lastBar(text.trimEnd()).trim();
  return bar === "%" ? "The same bar again." : bar;
}

/** Without the last note, or the last bar line. @param {string} text */
export function takeBack(text) {
  const end = text.trimEnd();
  if (end !== text && text.endsWith("\n")) return end;
  const cut = Math.max(end.lastIndexOf(","), end.lastIndexOf("~"), end.lastIndexOf("\n") + 1, end.lastIndexOf("|") + 1, 0);
  return end.slice(0, cut).replace(/[ ,~]+$/, "");
}
