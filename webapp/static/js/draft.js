// Keep what was entered into a form in this browser until the notebook has it, and offer it again
// when it never got there. Keys and choices are kept with the text; a file no browser may keep.
//
// The notebook has it when the page after sending says so (data-kept) and is not the form again.
// Anything else, an error page or a server that is gone, leaves the draft where it is.

const SENT = "draft-sent";
const NOT_KEPT = new Set(["csrf_token", "version", "action"]);

function readForm(form) {
  const isKept = ([name, value]) => typeof value === "string" && !NOT_KEPT.has(name);
  return JSON.stringify([...new FormData(form)].filter(isKept));
}

function writeForm(form, draft) {
  const texts = new Map(draft);
  const chosen = new Set(draft.map((pair) => pair.join("=")));
  for (const field of form.querySelectorAll("input, select, textarea")) {
    if (NOT_KEPT.has(field.name) || field.type === "file") continue;
    if (["checkbox", "radio"].includes(field.type)) {
      field.checked = chosen.has(`${field.name}=${field.value}`);
    } else if (texts.has(field.name)) field.value = texts.get(field.name);
  }
  // One event for all: the picture of the keys reads its fields again.
  form.querySelector("[name^=key-]")?.dispatchEvent(new Event("change", { bubbles: true }));
}

function nameOf(form) {
  return `draft:${location.pathname}:${form.dataset.draft}`;
}

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
  window.addEventListener("beforeunload", (event) => {
    if (isUnkept) event.preventDefault();
  });
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) note();
  });
  if (isBack) localStorage.setItem(name, shown);
  else if (draft !== null && draft !== shown) offer(form, name, JSON.parse(draft));
}

function offer(form, name, draft) {
  const notice = document.createElement("div");
  notice.className = "notice";
  notice.setAttribute("role", "status");
  const words = document.createElement("p");
  words.textContent = "What you entered here last was not kept in the notebook.";
  notice.append(words, button("Bring it back", () => {
    writeForm(form, draft);
    form.dispatchEvent(new Event("input"));
    notice.remove();
  }), button("Forget it", () => {
    localStorage.removeItem(name);
    notice.remove();
  }));
  form.before(notice);
}

function button(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}

const sent = sessionStorage.getItem(SENT);
const forms = [...document.querySelectorAll("form[data-draft]")];
sessionStorage.removeItem(SENT);
if (sent && document.querySelector("[data-kept]") && !forms.some((form) => nameOf(form) === sent)) {
  localStorage.removeItem(sent);
}
for (const form of forms) watch(form, sent);
