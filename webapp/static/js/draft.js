// @ts-check
// Keep what was entered into a form in this browser until the notebook has it, and offer it again
// when it never got there. Keys and choices are kept with the text; a file no browser may keep.
//
// The notebook has it when the page after sending says so (data-kept) and is not the form again.
// Anything else, an error page or a server that is gone, leaves the draft where it is.

import { findAll, findOptional, make, makeButton } from "./dom.js";

const SENT = "draft-sent";
const NOT_KEPT = new Set(["csrf_token", "version", "action"]);
// A note in parts is for pages without scripts: a script puts it out of use (note-entry.js).
const PART_OF_A_NOTE = /\.(letter|octave|sign|cents)$/;

/** @typedef {[string, string][]} Draft names and values of the fields */

/** @param {HTMLFormElement} form */
function readForm(form) {
  const isKept = (/** @type {[string, FormDataEntryValue]} */ [name, value]) =>
    typeof value === "string" && !NOT_KEPT.has(name) && !PART_OF_A_NOTE.test(name);
  return JSON.stringify([...new FormData(form)].filter(isKept));
}

/** @param {HTMLElement} field */
function isField(field) {
  return (
    field instanceof HTMLInputElement ||
    field instanceof HTMLSelectElement ||
    field instanceof HTMLTextAreaElement
  );
}

/** @param {HTMLFormElement} form @param {Draft} draft */
function writeForm(form, draft) {
  const texts = new Map(draft);
  const chosen = new Set(draft.map((pair) => pair.join("=")));
  for (const field of findAll(form, "input, select, textarea").filter(isField)) {
    if (NOT_KEPT.has(field.name) || field.type === "file") continue;
    if (field instanceof HTMLInputElement && ["checkbox", "radio"].includes(field.type)) {
      field.checked = chosen.has(`${field.name}=${field.value}`);
    } else field.value = texts.get(field.name) ?? field.value;
  }
  // One event for all: the picture of the keys reads its fields again.
  findOptional(form, "[name^=key-]")?.dispatchEvent(new Event("change", { bubbles: true }));
}

/** @param {HTMLFormElement} form */
function nameOf(form) {
  return `draft:${location.pathname}:${form.dataset.draft}`;
}

/** @param {HTMLFormElement} form @param {string | null} sent the name of the draft that was sent last */
function watch(form, sent) {
  const name = nameOf(form);
  const shown = readForm(form);
  const draft = localStorage.getItem(name);
  // The form came back, with a problem or with its keys set: what it shows is in no notebook yet.
  const isBack = sent === name;
  let isUnkept = isBack;
  let isTouched = isBack;

  function note() {
    const now = readForm(form);
    if (now === shown && !isTouched) return;
    isTouched = true;
    isUnkept = isBack || now !== shown;
    localStorage.setItem(name, now);
  }

  for (const event of ["input", "change", "keys:change"]) form.addEventListener(event, note);
  form.addEventListener("submit", () => {
    note();
    isUnkept = false;
    sessionStorage.setItem(SENT, name);
  });
  // A script sent it, and the notebook has it.
  form.addEventListener("form:kept", () => {
    isUnkept = false;
    localStorage.removeItem(name);
  });
  window.addEventListener("beforeunload", (event) => {
    if (isUnkept) event.preventDefault();
  });
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) note();
  });
  if (isBack) localStorage.setItem(name, shown);
  else if (draft !== null && draft !== shown) offer(form, name, JSON.parse(draft));
}

/** @param {HTMLFormElement} form @param {string} name @param {Draft} draft */
function offer(form, name, draft) {
  const notice = make("div", "notice");
  notice.setAttribute("role", "status");
  const words = make("p", "", "What you entered here last was not kept in the notebook.");
  notice.append(words, makeButton("Bring it back", () => {
    writeForm(form, draft);
    form.dispatchEvent(new Event("input"));
    notice.remove();
  }), makeButton("Forget it", () => {
    localStorage.removeItem(name);
    notice.remove();
  }));
  form.before(notice);
}

const sent = sessionStorage.getItem(SENT);
const forms = findAll(document, "form[data-draft]", HTMLFormElement);
sessionStorage.removeItem(SENT);
if (sent && findOptional(document, "[data-kept]", Element) && !forms.some((form) => nameOf(form) === sent)) {
  localStorage.removeItem(sent);
}
for (const form of forms) watch(form, sent);
