// @ts-check
// Entering a fingering by touch. The form fields are the truth: a touch on the picture holds a key or
// opens it, a long press (or a touch after the half-hole button) covers it half or vents it, and
// whatever changes a field redraws the picture and the words.
// Everything about keywork comes from the element's data-layout; this file knows none.
//
// Other scripts may listen for the event "keys:change" (detail.text is the text form), or dispatch
// "keys:set" with detail.states (the state letters of all keys) to load a fingering.

import { find, findAll, findClosest, findOptional, onDetail, show as showElement, dispatch, write } from "./dom.js";
import { baseStates, findConflicts, formatFingering, shortenChanges, statesFromLetters } from "./keys-words.js";

/** @typedef {import("./keys-words.js").Layout} Layout */
/** @typedef {import("./keys-words.js").Key} Key */
/** @typedef {import("./keys-words.js").State} State */
/** @typedef {import("./keys-words.js").States} States */

const LONG_PRESS_MS = 450;

/** The state between open and held that a key may have. @param {Key} key */
const partlyOf = (key) => key.states.find((state) => state === "shaded" || state === "vented");

/** Bring one key entry to life. @param {HTMLElement} root */
export function enhance(root) {
  /** @type {Layout} */
  const layout = JSON.parse(root.dataset.layout ?? "");
  const picture = find(root, ".keys-picture svg", SVGElement);
  const undoButton = find(root, "[data-keys-undo]", HTMLButtonElement);
  const halfButton = findOptional(root, "[data-keys-half]", HTMLButtonElement);
  let pressing = 0;
  let wasLong = false;
  /** @type {States[]} */
  const past = [];
  let states = readFields();

  /** @param {Key} key */
  function fieldsOf(key) {
    return findAll(root, `[name="key-${key.id}"]`, HTMLInputElement);
  }

  /** @returns {States} */
  function readFields() {
    const read = (/** @type {Key} */ key) =>
      /** @type {State} */ (fieldsOf(key).find((field) => field.checked)?.value ?? "up");
    return new Map(layout.keys.map((key) => [key.id, read(key)]));
  }

  function writeFields() {
    for (const key of layout.keys) {
      for (const field of fieldsOf(key)) field.checked = field.value === states.get(key.id);
    }
  }

  /** Take new states; what was before can be had back by undo. @param {States} next */
  function change(next) {
    past.push(states);
    states = next;
    writeFields();
    show();
  }

  function show() {
    const base = baseStates(layout);
    for (const key of layout.keys) {
      const state = states.get(key.id) ?? "up";
      redraw(picture, layout, key, state, layout.base !== null && base.get(key.id) !== state);
    }
    const text = formatFingering(layout, states);
    say("[data-keys-text]", text);
    if (layout.base !== null) {
      say("[data-keys-changes]", shortenChanges(layout, states) || "no change");
    }
    say("[data-keys-conflicts]", findConflicts(layout, states).join(" "));
    find(picture, "desc", SVGDescElement).textContent = text;
    undoButton.disabled = past.length === 0;
    dispatch(root, "keys:change", { text }, true);
  }

  /** @param {string} selector @param {string} words */
  function say(selector, words) {
    write(find(root, selector), words);
  }

  /** The key under a touch. @param {Event} event */
  function keyUnder(event) {
    const id = findClosest(event.target, "[data-hit]", SVGElement)?.dataset.hit;
    return layout.keys.find((one) => one.id === id);
  }

  /** Cover a key half or vent it, or open it again; a key that can't be is left. @param {Key} key */
  function touchPartly(key) {
    const partly = partlyOf(key);
    if (partly) change(new Map(states).set(key.id, states.get(key.id) === partly ? "up" : partly));
  }

  /** @param {boolean} isOn */
  function setHalf(isOn) {
    halfButton?.setAttribute("aria-pressed", String(isOn));
  }

  picture.addEventListener("pointerdown", (event) => {
    clearTimeout(pressing);
    wasLong = false;
    const key = keyUnder(event);
    if (!key || !partlyOf(key)) return;
    pressing = window.setTimeout(() => {
      wasLong = true;
      touchPartly(key);
    }, LONG_PRESS_MS);
  });
  for (const name of ["pointerup", "pointercancel", "pointerleave"]) {
    picture.addEventListener(name, () => clearTimeout(pressing));
  }
  picture.addEventListener("contextmenu", (event) => event.preventDefault()); // of a long press
  picture.addEventListener("click", (event) => {
    const key = keyUnder(event);
    if (!key || wasLong) return;
    if (halfButton?.getAttribute("aria-pressed") === "true" && partlyOf(key)) {
      setHalf(false);
      touchPartly(key);
    } else change(new Map(states).set(key.id, states.get(key.id) === "up" ? "down" : "up"));
  });
  halfButton?.addEventListener("click", () => setHalf(halfButton.getAttribute("aria-pressed") !== "true"));
  root.addEventListener("change", ({ target }) => {
    if (target instanceof HTMLInputElement && target.name.startsWith("key-")) change(readFields());
  });
  onDetail(root, "keys:set", (/** @type {{states: string}} */ detail) => {
    change(statesFromLetters(layout, detail.states));
  });
  undoButton.addEventListener("click", () => {
    states = past.pop() ?? states;
    writeFields();
    show();
  });
  find(root, "[data-keys-clear]").addEventListener("click", () => {
    change(new Map(layout.keys.map(({ id }) => [id, "up"])));
  });

  for (const tools of findAll(root, "[data-keys-tools]")) showElement(tools);
  find(root, "[data-keys-list]", HTMLDetailsElement).open = false;
  root.classList.add("is-live");
  show();
}

/**
 * @param {SVGElement} picture
 * @param {Layout} layout
 * @param {Key} key
 * @param {State} state
 * @param {boolean} isChanged from the base
 */
function redraw(picture, layout, key, state, isChanged) {
  const isPartlyInked = (state === "shaded" || state === "vented") && key.hasLabelInside;
  /** @type {Record<string, (part: SVGElement) => void>} */
  const draw = {
    halo: (part) => display(part, isChanged),
    gap: (part) => display(part, isChanged),
    half: (part) => display(part, state === "shaded"),
    vent: (part) => display(part, state === "vented"),
    outline: (part) => {
      part.setAttribute("fill", state === "down" || state === "vented" ? layout.ink : layout.paper);
    },
    parting: (part) => display(part, state === "up"),
    label: (part) => {
      const isOnInk = state === "down" && key.hasLabelInside;
      part.setAttribute("fill", isOnInk ? layout.paper : layout.ink);
      display(part, !isPartlyInked);
    },
  };
  for (const part of findAll(picture, `[data-key="${key.id}"]`, SVGElement)) draw[part.dataset.part ?? ""](part);
}

/** @param {SVGElement} part @param {boolean} isShown */
function display(part, isShown) {
  if (isShown) part.removeAttribute("display");
  else part.setAttribute("display", "none");
}

for (const root of findAll(document, "[data-keys-entry]")) enhance(root);
