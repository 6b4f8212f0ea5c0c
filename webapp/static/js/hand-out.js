// @ts-check
// Search within a hand-out: the fingerings whose words hold all that is typed stay in sight. It
// stands inside the file, so it takes nothing from other modules.

const form = document.getElementById("search");
const words = document.getElementById("words");
const found = document.getElementById("found");
const cards = [...document.getElementsByTagName("article")];

/** Show what holds every word that is typed, and say how many that are. */
function search() {
  if (!(words instanceof HTMLInputElement)) return;
  const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
  let count = 0;
  for (const card of cards) {
    const text = (card.textContent ?? "").toLowerCase();
    card.hidden = !wanted.every((word) => text.includes(word));
    if (!card.hidden) count += 1;
  }
  if (found) found.textContent = wanted.length ? `${count} of ${cards.length}` : "";
}

if (form && words) {
  form.hidden = false;
  form.addEventListener("submit", (event) => event.preventDefault());
  words.addEventListener("input", search);
  search();
}
