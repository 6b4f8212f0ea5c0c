// Entering a fingering by touch. The form fields are the truth: a touch on the picture steps the
// field of that key, and whatever changes a field redraws the picture and the words below it.
// Everything about keywork comes from the element's data-layout; this file knows none.
//
// Other scripts may listen for the event "keys:change" (detail.text is the text form), or dispatch
// "keys:set" with detail.states (the state letters of all keys) to load a fingering.

const LETTERS = { u: "up", d: "down", s: "shaded" };
const MAX_ASSIGNMENTS = 1024;

/** Write a fingering in its text form; `states` maps key ids to up, down or shaded. */
export function formatFingering(layout, states) {
  const keyOf = new Map(layout.keys.map((key) => [key.id, key]));
  const word = (id) => {
    const { token } = keyOf.get(id);
    return { up: "", down: token, shaded: `(${token})` }[states.get(id)];
  };
  const hole = (id) => word(id) || "-";
  const prefix = layout.prefix.map(word).filter(Boolean);
  const left = [...prefix, layout.left.map(hole).join("")].join(" ");
  const right = layout.right.map(hole).join("");
  const extras = layout.extras.map(word).filter(Boolean).join(", ");
  return [left, right, extras].filter(Boolean).join(" | ");
}

/** Say what differs from the base, in the words of the server; an empty list for no base. */
export function describeChanges(layout, states) {
  const before = baseStates(layout);
  const changed = layout.keys.filter((key) => before.get(key.id) !== states.get(key.id));
  const order = ["down", "up", "shaded"];
  const rank = (key) => order.indexOf(states.get(key.id));
  const ordered = changed.toSorted((a, b) => rank(a) - rank(b));
  return ordered.map((key) => describeOne(key, before.get(key.id), states.get(key.id)));
}

function describeOne(key, before, after) {
  if (after === "shaded") {
    return `shades ${key.name} (was ${before === "down" ? "closed" : "open"})`;
  }
  const isPressed = after === "down";
  const effect = isPressed === (key.acts === "opens") ? "opens" : "closes";
  const was = before === "shaded" ? ", was shaded" : "";
  return `${isPressed ? "adds" : "lifts"} ${key.name} (${effect}${was})`;
}

/** Find what two hands can't hold: sentences, none if the fingering can be played. */
export function findConflicts(layout, states) {
  const pressed = layout.keys.filter((key) => states.get(key.id) !== "up");
  const pairs = new Set(layout.together.map((pair) => pair.join(" ")));
  let best = null;
  for (const digits of assignments(pressed)) {
    const found = clashes(pressed, digits, pairs);
    if (best === null || found.length < best.length) best = found;
    if (best.length === 0) break;
  }
  return best ?? [];
}

function* assignments(pressed) {
  const counts = pressed.map((key) => key.digits.length);
  const total = Math.min(MAX_ASSIGNMENTS, counts.reduce((product, count) => product * count, 1));
  for (let number = 0; number < total; number += 1) {
    let rest = number;
    const digits = new Array(pressed.length);
    for (let place = pressed.length - 1; place >= 0; place -= 1) {
      digits[place] = pressed[place].digits[rest % counts[place]];
      rest = Math.floor(rest / counts[place]);
    }
    yield digits;
  }
}

function clashes(pressed, digits, pairs) {
  const found = [];
  pressed.forEach((first, a) => {
    pressed.slice(a + 1).forEach((second, offset) => {
      const isSameFinger = digits[a] === digits[a + 1 + offset];
      const isPair = pairs.has([first.id, second.id].sort().join(" "));
      if (isSameFinger && !isPair) {
        found.push(`The ${digits[a]} can't hold ${held(first)} and ${held(second)}.`);
      }
    });
  });
  return found;
}

function held(key) {
  return key.acts === "hole" ? "its hole" : `the ${key.name}`;
}

function statesFromLetters(layout, letters) {
  return new Map(layout.keys.map((key, place) => [key.id, LETTERS[letters[place]]]));
}

function baseStates(layout) {
  return layout.base === null ? new Map() : statesFromLetters(layout, layout.base);
}

/** Bring one key entry to life. */
export function enhance(root) {
  const layout = JSON.parse(root.dataset.layout);
  const picture = root.querySelector(".keys-picture svg");
  const undoButton = root.querySelector("[data-keys-undo]");
  const past = [];
  let states = readFields();

  function fieldsOf(key) {
    return [...root.querySelectorAll(`[name="key-${key.id}"]`)];
  }

  function readFields() {
    const read = (key) => fieldsOf(key).find((field) => field.checked)?.value ?? "up";
    return new Map(layout.keys.map((key) => [key.id, read(key)]));
  }

  function writeFields() {
    for (const key of layout.keys) {
      for (const field of fieldsOf(key)) field.checked = field.value === states.get(key.id);
    }
  }

  /** Take new states; what was before can be had back by undo. */
  function change(next) {
    past.push(states);
    states = next;
    writeFields();
    show();
  }

  function show() {
    const base = baseStates(layout);
    for (const key of layout.keys) {
      const state = states.get(key.id);
      redraw(picture, layout, key, state, layout.base !== null && base.get(key.id) !== state);
    }
    const text = formatFingering(layout, states);
    say("[data-keys-text]", text);
    if (layout.base !== null) {
      say("[data-keys-changes]", describeChanges(layout, states).join(", ") || "no change");
    }
    say("[data-keys-conflicts]", findConflicts(layout, states).join(" "));
    picture.querySelector("desc").textContent = text;
    undoButton.disabled = past.length === 0;
    root.dispatchEvent(new CustomEvent("keys:change", { bubbles: true, detail: { text } }));
  }

  function say(selector, words) {
    const place = root.querySelector(selector);
    // An unchanged live region must stay untouched, or it is read out again.
    if (place.textContent !== words) place.textContent = words;
  }

  picture.addEventListener("click", (event) => {
    const id = event.target.closest("[data-hit]")?.dataset.hit;
    const key = layout.keys.find((one) => one.id === id);
    if (!key) return;
    const next = (key.states.indexOf(states.get(id)) + 1) % key.states.length;
    change(new Map(states).set(id, key.states[next]));
  });
  root.addEventListener("change", (event) => {
    if (event.target.name?.startsWith("key-")) change(readFields());
  });
  root.addEventListener("keys:set", (event) => {
    change(statesFromLetters(layout, event.detail.states));
  });
  undoButton.addEventListener("click", () => {
    states = past.pop() ?? states;
    writeFields();
    show();
  });
  root.querySelector("[data-keys-clear]").addEventListener("click", () => {
    change(new Map(layout.keys.map((key) => [key.id, "up"])));
  });

  root.querySelector("[data-keys-tools]").hidden = false;
  root.querySelector("[data-keys-list]").open = false;
  root.classList.add("is-live");
  show();
}

function redraw(picture, layout, key, state, isChanged) {
  const isHalfInked = state === "shaded" && key.hasLabelInside;
  const draw = {
    halo: (part) => display(part, isChanged),
    gap: (part) => display(part, isChanged),
    half: (part) => display(part, state === "shaded"),
    outline: (part) => {
      part.setAttribute("fill", state === "down" ? layout.ink : layout.paper);
      if (!part.dataset.dashes) return;
      if (state === "up") part.setAttribute("stroke-dasharray", part.dataset.dashes);
      else part.removeAttribute("stroke-dasharray");
    },
    label: (part) => {
      const isOnInk = state === "down" && key.hasLabelInside;
      part.setAttribute("fill", isOnInk ? layout.paper : layout.ink);
      display(part, !isHalfInked);
    },
  };
  for (const part of picture.querySelectorAll(`[data-key="${key.id}"]`)) draw[part.dataset.part](part);
}

function display(part, isShown) {
  if (isShown) part.removeAttribute("display");
  else part.setAttribute("display", "none");
}

for (const root of document.querySelectorAll("[data-keys-entry]")) enhance(root);
