// @ts-check
// A page of the part: touch it where a note is, drag marks, turn pages by pedal or keys. Without this
// script places are typed in mm and pages turned by links.

import { find, findAll, findClosest, findOptional, make, makeSvg, setAttributes, show } from "../dom.js";
import { enhanceNoteEntries } from "../note-entry.js";
import { readKey } from "../stand/pedal.js";
import { aboveNote, clampTo, isDragged } from "./places.js";

/** @typedef {import("./places.js").Place} Place */

const AT_ONCE = "quartervent-put-at-once";
const PLAIN_MOUSE_BUTTON = 0;

/** How far the page was scrolled when it was touched. @type {number | null} */
let touchedAt = null;

/** A place of the screen on the page, in mm. @param {SVGSVGElement} picture @param {MouseEvent} event @returns {Place} */
function placeOf(picture, event) {
  const toPage = picture.getScreenCTM()?.inverse();
  const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(toPage);
  return { x, y };
}

/** @param {HTMLElement} section */
function watch(section) {
  const picture = find(section, ".own-page", SVGSVGElement);
  const form = find(section, "[data-mark-form]", HTMLFormElement);
  const size = picture.viewBox.baseVal;
  const x = find(form, "[name=x_mm]", HTMLInputElement);
  const y = find(form, "[name=y_mm]", HTMLInputElement);
  const reference = findOptional(form, "[name=reference]", HTMLSelectElement);
  const atOnce = findOptional(form, "[data-put-at-once]", HTMLInputElement);
  const other = find(form, "[data-other-note]");

  show(find(section, "[data-touch-hint]"));
  if (atOnce) {
    show(find(form, "[data-at-once]"));
    atOnce.checked = sessionStorage.getItem(AT_ONCE) === "yes";
    atOnce.addEventListener("change", () => sessionStorage.setItem(AT_ONCE, atOnce.checked ? "yes" : ""));
  }
  const showOther = () => show(other, !reference?.value);
  reference?.addEventListener("change", showOther);
  showOther();

  picture.addEventListener("click", (event) => {
    const mark = findClosest(event.target, "[data-mark]", SVGElement);
    if (mark) {
      openRow(section, mark);
      return;
    }
    const place = clampTo(aboveNote(placeOf(picture, event)), size);
    [x.value, y.value] = [place.x.toFixed(1), place.y.toFixed(1)];
    showTouched(picture, place);
    touchedAt = window.scrollY;
    if (reference?.value && atOnce?.checked) form.requestSubmit();
    else if (reference?.value) find(form, "button[type=submit]").focus({ preventScroll: true });
    else find(form, "[name=notes]").focus();
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(section, form);
  });
  for (const mark of findAll(picture, "[data-mark]", SVGGElement)) letDrag(section, picture, mark, size);
}

/** @param {SVGSVGElement} picture @param {Place} place */
function showTouched(picture, { x, y }) {
  const cross = findOptional(picture, ".touched", SVGCircleElement) ?? makeSvg("circle", { class: "touched", r: 2 }, picture);
  setAttributes(cross, { cx: x, cy: y });
}

/** Send the form and take the page over that comes back; where it does not come, send it as a page.
 * @param {HTMLElement} section @param {HTMLFormElement} form */
async function send(section, form) {
  try {
    const response = await fetch(form.action, { method: "POST", body: new FormData(form) });
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    const fresh = document.adoptNode(find(page, "[data-own-page]"));
    section.replaceWith(fresh);
    enhanceNoteEntries(fresh);
    watch(fresh);
    const refused = findOptional(fresh, "[data-refused]");
    if (refused) refused.focus();
    else if (touchedAt !== null) window.scrollTo({ top: touchedAt }); // back to where the next note is
    touchedAt = null;
  } catch {
    form.submit();
  }
}

/** @param {HTMLElement} section @param {SVGElement} mark */
function openRow(section, mark) {
  const details = find(section, `[data-mark-row="${mark.dataset.mark}"] details`, HTMLDetailsElement);
  details.open = true;
  details.scrollIntoView({ block: "center" });
  find(details, "summary").focus({ preventScroll: true });
}

/** @param {HTMLElement} section @param {SVGSVGElement} picture @param {SVGGElement} mark @param {DOMRect} size */
function letDrag(section, picture, mark, size) {
  /** @type {{from: Place, at: Place, isMoved: boolean} | null} */
  let drag = null;
  const foot = () => ({ x: Number(mark.dataset.x), y: Number(mark.dataset.y) });
  const put = (/** @type {Place} */ { x, y }) => mark.setAttribute("transform", `translate(${x} ${y})`);

  mark.addEventListener("pointerdown", (event) => {
    if (event.button !== PLAIN_MOUSE_BUTTON) return;
    mark.setPointerCapture(event.pointerId);
    drag = { from: placeOf(picture, event), at: foot(), isMoved: false };
  });
  mark.addEventListener("pointermove", (event) => {
    if (!drag) return;
    const now = placeOf(picture, event);
    drag.isMoved ||= isDragged(drag.from, now);
    const start = foot();
    drag.at = clampTo({ x: start.x + now.x - drag.from.x, y: start.y + now.y - drag.from.y }, size);
    if (drag.isMoved) put(drag.at);
  });
  mark.addEventListener("pointercancel", () => {
    drag = null;
    put(foot());
  });
  mark.addEventListener("pointerup", async () => {
    const ended = drag;
    drag = null;
    if (!ended?.isMoved) return;
    // the click that follows is the end of the drag
    picture.addEventListener("click", (event) => event.stopPropagation(), { capture: true, once: true });
    if (await keepPlace(mark, ended.at)) setAttributes(mark, { "data-x": ended.at.x, "data-y": ended.at.y });
    else sayNotMoved(section);
    put(foot());
    for (const name of /** @type {const} */ (["x", "y"])) {
      const field = findOptional(section, `[name="mark-${mark.dataset.mark}-${name}_mm"]`, HTMLInputElement);
      if (field) field.value = foot()[name].toFixed(1);
    }
  });
}

/** @param {SVGGElement} mark @param {Place} place @returns {Promise<boolean>} */
async function keepPlace(mark, { x, y }) {
  const form = find(document, `[data-mark-row="${mark.dataset.mark}"] form`, HTMLFormElement);
  const sent = new FormData();
  sent.set("csrf_token", find(form, "[name=csrf_token]", HTMLInputElement).value);
  sent.set("x_mm", x.toFixed(2));
  sent.set("y_mm", y.toFixed(2));
  try {
    const address = new URL(form.action);
    address.pathname = address.pathname.replace(/change$/, "place.json");
    return (await fetch(address, { method: "POST", body: sent })).ok;
  } catch {
    return false;
  }
}

/** @param {HTMLElement} section */
function sayNotMoved(section) {
  const notice = findOptional(section, ".not-moved") ?? make("p", "notice problem not-moved");
  notice.setAttribute("role", "alert");
  notice.textContent = "The mark was not moved: the notebook is not answering. Try again.";
  section.prepend(notice);
}

const TURNS = new Map([["next-target", "next"], ["previous-target", "prev"]]);

document.addEventListener("keydown", (event) => {
  const wish = readKey(event);
  const way = wish && TURNS.get(wish);
  const link = way && findOptional(document, `[data-turn=${way}]`, HTMLAnchorElement);
  if (!link) return;
  event.preventDefault();
  link.click();
});

for (const section of findAll(document, "[data-own-page]")) watch(section);
