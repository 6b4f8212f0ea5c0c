// @ts-check
// Sections of a page as tabs (ARIA Authoring Practices, "Tabs"): arrow keys go from tab to tab, and
// what an address or a link on the page names is shown. Without this file they stand one below the
// other, and the tabs are links to them.

import { find, findAll, findClosest, findOptional, show as showElement } from "./dom.js";

/** @type {Record<string, (at: number, count: number) => number>} */
const MOVES = {
  ArrowLeft: (at, count) => (at + count - 1) % count,
  ArrowRight: (at, count) => (at + 1) % count,
  Home: () => 0,
  End: (_, count) => count - 1,
};

/** @param {HTMLElement} area */
function enhance(area) {
  const list = find(area, "[data-tab-list]");
  const tabs = findAll(list, "a", HTMLAnchorElement);
  const panels = tabs.map(({ hash }) => find(area, hash));

  /** @param {number} chosen */
  function choose(chosen) {
    for (const [at, tab] of tabs.entries()) {
      tab.setAttribute("aria-selected", String(at === chosen));
      tab.tabIndex = at === chosen ? 0 : -1;
      showElement(panels[at], at === chosen);
    }
  }

  /** Show the panel that holds what the address names. */
  function follow() {
    const named = location.hash.length > 1 ? document.getElementById(location.hash.slice(1)) : null;
    const at = panels.findIndex((panel) => named !== null && panel.contains(named));
    if (at < 0) return;
    choose(at);
    if (named !== panels[at]) named?.scrollIntoView();
  }

  list.setAttribute("role", "tablist");
  for (const [at, tab] of tabs.entries()) {
    tab.setAttribute("role", "tab");
    tab.setAttribute("aria-controls", panels[at].id);
    panels[at].setAttribute("role", "tabpanel");
    panels[at].tabIndex = 0;
  }
  list.addEventListener("click", (event) => {
    const tab = findClosest(event.target, "a", HTMLAnchorElement);
    if (!tab) return;
    event.preventDefault(); // the page stays where it is
    choose(tabs.indexOf(tab));
  });
  list.addEventListener("keydown", (event) => {
    const at = tabs.findIndex((tab) => tab === document.activeElement);
    const next = MOVES[event.key]?.(at, tabs.length);
    if (event.key === " " && at >= 0) event.preventDefault();
    if (next === undefined || at < 0) return;
    event.preventDefault();
    choose(next);
    tabs[next].focus();
  });
  window.addEventListener("hashchange", follow);
  const wrong = panels.findIndex((panel) => findOptional(panel, "[aria-invalid='true']"));
  choose(Math.max(wrong, 0));
  follow();
}

for (const area of findAll(document, "[data-tabs]")) enhance(area);
