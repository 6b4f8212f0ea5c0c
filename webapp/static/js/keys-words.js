// @ts-check
// A fingering in words: its text form, what differs from its base, what hands cannot hold. The words
// are those of the server (analysis/keywork); everything about keywork comes from the layout.

/** @typedef {"up" | "down" | "shaded" | "vented"} State */
/** @typedef {Map<string, State>} States the state of each key, by its id */

/**
 * @typedef {object} Key
 * @property {string} id
 * @property {string} name
 * @property {string} shortName
 * @property {string} token in the text form
 * @property {State[]} states that it can have
 * @property {string[]} digits the fingers that can hold it
 * @property {string | null} beyond why no finger reaches it as the instrument is played
 * @property {boolean} isKeptFromThumb whether the right thumb could press it if it were free to
 * @property {"hole" | "opens" | "closes"} acts
 * @property {boolean} hasLabelInside
 */

/**
 * @typedef {object} Layout
 * @property {Key[]} keys
 * @property {string[]} prefix ids, in the order of the text form
 * @property {string[]} left
 * @property {string[]} right
 * @property {string[]} extras
 * @property {string} thumb why the right thumb does not press some key
 * @property {string[][]} together pairs that one finger holds together
 * @property {string | null} base the state letters of what the fingering came from
 * @property {string} ink
 * @property {string} paper
 */

/** @type {Record<string, State>} */
const LETTERS = { u: "up", d: "down", s: "shaded", v: "vented" };
/** @type {[State, string][]} */
const VERBS = [["up", "lift"], ["shaded", "half"], ["vented", "vent"]];
const MAX_ASSIGNMENTS = 1024;

/** @param {States} states @param {string} id */
function stateOf(states, id) {
  return states.get(id) ?? "up";
}

/**
 * Write a fingering in its text form.
 * @param {Layout} layout
 * @param {States} states
 */
export function formatFingering(layout, states) {
  const keyOf = new Map(layout.keys.map((key) => [key.id, key]));
  const word = (/** @type {string} */ id) => {
    const token = keyOf.get(id)?.token ?? "";
    return { up: "", down: token, shaded: `(${token})`, vented: `[${token}]` }[stateOf(states, id)];
  };
  const hole = (/** @type {string} */ id) => word(id) || "-";
  const prefix = layout.prefix.map(word).filter(Boolean);
  const left = [...prefix, layout.left.map(hole).join("")].join(" ");
  const right = layout.right.map(hole).join("");
  const extras = layout.extras.map(word).filter(Boolean).join(", ");
  return [left, right, extras].filter(Boolean).join(" | ");
}

/**
 * Say shortly what differs from the base, in the words of the server; empty for no base or no change.
 * @param {Layout} layout
 * @param {States} states
 */
export function shortenChanges(layout, states) {
  const before = baseStates(layout);
  const changed = layout.keys.filter((key) => layout.base !== null && before.get(key.id) !== states.get(key.id));
  const namesOf = (/** @type {State} */ state) =>
    changed.filter((key) => stateOf(states, key.id) === state).map((key) => key.shortName);
  const gone = VERBS.map(([state, verb]) => [verb, namesOf(state).join(" and ")].join(" ")).filter((words) => !words.endsWith(" "));
  return [...gone, ...namesOf("down").map((name) => `+ ${name}`)].join(", ");
}

/**
 * Find what two hands can't hold: sentences, none if the fingering can be played.
 * @param {Layout} layout
 * @param {States} states
 */
export function findConflicts(layout, states) {
  const pressed = layout.keys.filter((key) => states.get(key.id) !== "up");
  const pairs = new Set(layout.together.map((pair) => pair.join(" ")));
  const beyond = pressed.flatMap((key) => key.beyond ?? []);
  const reached = pressed.filter((key) => key.beyond === null);
  /** @type {string[] | null} */
  let best = null;
  for (const digits of assignments(reached)) {
    const found = clashes(layout, reached, digits, pairs);
    if (best === null || found.length < best.length) best = found;
    if (best.length === 0) break;
  }
  return [...beyond, ...(best ?? [])];
}

/** @param {Key[]} pressed @returns {Generator<string[]>} which finger holds which key */
function* assignments(pressed) {
  const counts = pressed.map((key) => key.digits.length);
  const total = Math.min(MAX_ASSIGNMENTS, counts.reduce((product, count) => product * count, 1));
  for (let number = 0; number < total; number += 1) {
    let rest = number;
    /** @type {string[]} */
    const digits = new Array(pressed.length);
    for (let place = pressed.length - 1; place >= 0; place -= 1) {
      digits[place] = pressed[place].digits[rest % counts[place]];
      rest = Math.floor(rest / counts[place]);
    }
    yield digits;
  }
}

/**
 * @param {Layout} layout
 * @param {Key[]} pressed
 * @param {string[]} digits
 * @param {Set<string>} pairs that one finger holds together
 */
function clashes(layout, pressed, digits, pairs) {
  /** @type {string[]} */
  const found = [];
  pressed.forEach((first, a) => {
    pressed.slice(a + 1).forEach((second, offset) => {
      const isSameFinger = digits[a] === digits[a + 1 + offset];
      const isPair = pairs.has([first.id, second.id].sort().join(" "));
      if (isSameFinger && !isPair) {
        const because = first.isKeptFromThumb || second.isKeptFromThumb ? ` (the right thumb ${layout.thumb})` : "";
        found.push(`The ${digits[a]} can't hold ${held(first)} and ${held(second)}${because}.`);
      }
    });
  });
  return found;
}

/** @param {Key} key */
function held(key) {
  return key.acts === "hole" ? "its hole" : `the ${key.name}`;
}

/** @param {Layout} layout @param {string} letters one for each key, in the order of the layout @returns {States} */
export function statesFromLetters(layout, letters) {
  return new Map(layout.keys.map((key, place) => [key.id, LETTERS[letters[place]]]));
}

/** @param {Layout} layout @returns {States} */
export function baseStates(layout) {
  return layout.base === null ? new Map() : statesFromLetters(layout, layout.base);
}
