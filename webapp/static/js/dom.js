// @ts-check
// Elements of a page: found with their type known, made, written, shown and hidden; and the events
// with a detail by which parts of a page speak to each other.

/**
 * An element that the page must have.
 * @template {Element} [T=HTMLElement]
 * @param {ParentNode} place
 * @param {string} selector
 * @param {new () => T} [type] HTMLElement where it is not said
 * @returns {T}
 * @throws {Error} where the page has none of this type
 */
export function find(place, selector, type) {
  const found = findOptional(place, selector, type);
  if (found === null) throw new Error(`the page has no ${selector}`);
  return found;
}

/**
 * An element that the page may have.
 * @template {Element} [T=HTMLElement]
 * @param {ParentNode} place
 * @param {string} selector
 * @param {new () => T} [type] HTMLElement where it is not said
 * @returns {T | null}
 */
export function findOptional(place, selector, type) {
  return typed(place.querySelector(selector), type);
}

/**
 * All such elements, in the order of the page.
 * @template {Element} [T=HTMLElement]
 * @param {ParentNode} place
 * @param {string} selector
 * @param {new () => T} [type] HTMLElement where it is not said
 * @returns {T[]}
 */
export function findAll(place, selector, type) {
  return [...place.querySelectorAll(selector)].flatMap((one) => typed(one, type) ?? []);
}

/**
 * The element itself or the nearest one round it.
 * @template {Element} [T=HTMLElement]
 * @param {EventTarget | null} place of an event
 * @param {string} selector
 * @param {new () => T} [type] HTMLElement where it is not said
 * @returns {T | null}
 */
export function findClosest(place, selector, type) {
  return place instanceof Element ? typed(place.closest(selector), type) : null;
}

/**
 * @template {Element} T
 * @param {Element | null} found
 * @param {(new () => T) | undefined} type
 * @returns {T | null}
 */
function typed(found, type) {
  return found instanceof (type ?? HTMLElement) ? /** @type {T} */ (found) : null;
}

/**
 * A new element.
 * @template {keyof HTMLElementTagNameMap} Name
 * @param {Name} name
 * @param {string} [className]
 * @param {string} [words]
 * @returns {HTMLElementTagNameMap[Name]}
 */
export function make(name, className = "", words = "") {
  const made = document.createElement(name);
  if (className) made.className = className;
  made.textContent = words;
  return made;
}

/**
 * A new button that sends no form.
 * @param {string} words
 * @param {() => void} act
 * @param {string} [className]
 */
export function makeButton(words, act, className = "") {
  const made = make("button", className, words);
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}

/**
 * A new link.
 * @param {string} address
 * @param {string} words
 */
export function makeLink(address, words) {
  const made = make("a", "", words);
  made.href = address;
  return made;
}

/**
 * A new part of a drawing.
 * @template {keyof SVGElementTagNameMap} Name
 * @param {Name} name
 * @param {Record<string, string | number>} attributes
 * @param {Element} [parent] it is put last into
 * @returns {SVGElementTagNameMap[Name]}
 */
export function makeSvg(name, attributes, parent) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  setAttributes(made, attributes);
  parent?.append(made);
  return made;
}

/**
 * @param {Element} element
 * @param {Record<string, string | number>} attributes
 */
export function setAttributes(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
}

/**
 * Show an element, or hide it.
 * @param {Element} element
 * @param {boolean} [isShown]
 */
export function show(element, isShown = true) {
  element.toggleAttribute("hidden", !isShown);
}

/**
 * Write words where others stood. The same words again touch nothing: a live region would be read out
 * once more.
 * @param {Element} element
 * @param {string} words
 */
export function write(element, words) {
  if (element.textContent !== words) element.textContent = words;
}

/**
 * Press one of several buttons in, and the others out.
 * @param {Iterable<Element>} buttons
 * @param {(button: Element) => boolean} isPressed
 */
export function press(buttons, isPressed) {
  for (const button of buttons) button.setAttribute("aria-pressed", String(isPressed(button)));
}

/**
 * Dispatch a custom event, so that other parts of the page know.
 * @param {EventTarget} place
 * @param {string} name
 * @param {unknown} detail
 * @param {boolean} [isBubbling] up to the elements round it
 */
export function dispatch(place, name, detail, isBubbling = false) {
  place.dispatchEvent(new CustomEvent(name, { detail, bubbles: isBubbling }));
}

/**
 * Listen to such an event, by its detail.
 * @template Detail
 * @param {EventTarget} place
 * @param {string} name
 * @param {(detail: Detail) => void} act
 */
export function onDetail(place, name, act) {
  place.addEventListener(name, (event) => act(/** @type {CustomEvent<Detail>} */ (event).detail));
}
