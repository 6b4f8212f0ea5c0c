// Keep what was typed into a form in this browser until it is sent, and offer it again afterwards.
// Files and key choices are not kept: a browser cannot hold the first, the picture shows the second.

const KEPT = "input[type=text], input[type=date], textarea";

function fieldsOf(form) {
  return [...form.querySelectorAll(KEPT)].filter((field) => field.name);
}

function readDraft(name) {
  try {
    return JSON.parse(localStorage.getItem(name)) ?? null;
  } catch {
    return null;
  }
}

function watch(form) {
  const name = `draft:${location.pathname}:${form.dataset.draft}`;
  const draft = readDraft(name);
  let isChanged = false;

  form.addEventListener("input", () => {
    isChanged = true;
    const texts = Object.fromEntries(fieldsOf(form).map((field) => [field.name, field.value]));
    localStorage.setItem(name, JSON.stringify(texts));
  });
  form.addEventListener("submit", () => {
    isChanged = false;
    sessionStorage.setItem("draft-sent", name);
  });
  window.addEventListener("beforeunload", (event) => {
    if (isChanged) event.preventDefault();
  });
  if (draft && fieldsOf(form).some((field) => field.name in draft && draft[field.name] !== field.value)) {
    offer(form, name, draft);
  }
}

function offer(form, name, draft) {
  const notice = document.createElement("div");
  notice.className = "notice";
  notice.setAttribute("role", "status");
  const words = document.createElement("p");
  words.textContent = "What you typed here last was not kept in the notebook.";
  notice.append(words, button("Bring it back", () => {
    for (const field of fieldsOf(form)) {
      if (field.name in draft) field.value = draft[field.name];
    }
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

// A page without a marked problem after a submit means that the notebook has it.
const sent = sessionStorage.getItem("draft-sent");
if (sent) {
  sessionStorage.removeItem("draft-sent");
  if (!document.querySelector(".problem, .error")) localStorage.removeItem(sent);
}
for (const form of document.querySelectorAll("form[data-draft]")) watch(form);
