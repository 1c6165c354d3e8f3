// The way of the Tab key through the calendar. Beside the house, what is done with an evening comes
// right after that evening, though the page has it before all of them.
import { state, wide } from "./store.js";

const STOPS = "a[href], button, input, select, textarea, [tabindex='0']";

/** What Tab stops at, as the page has it. @returns {HTMLElement[]} */
function stops() {
  const found = /** @type {HTMLElement[]} */ ([...document.querySelectorAll(STOPS)]);
  return found.filter(e => e.getClientRects().length && e.tabIndex >= 0 && !(/** @type {any} */ (e).disabled));
}

/** The same, with what is done with the last chosen evening after it. @param {HTMLElement[]} all */
function wanted(all) {
  const own = all.filter(e => e.closest("lm-day")), rest = all.filter(e => !own.includes(e));
  const day = rest.findLast(e => e.matches(".day[aria-pressed=true]"));
  if (!day || !own.length) return all;
  rest.splice(rest.indexOf(day) + 1, 0, ...own);
  return rest;
}

document.addEventListener("keydown", e => {
  if (e.key !== "Tab" || e.altKey || e.ctrlKey || e.metaKey || !wide.matches || state.view !== "calendar") return;
  const all = stops(), ways = wanted(all), step = e.shiftKey ? -1 : 1;
  const here = /** @type {HTMLElement} */ (document.activeElement);
  const to = ways.includes(here) && ways[ways.indexOf(here) + step];
  if (!to || to === all[all.indexOf(here) + step]) return; // the browser goes there by itself
  e.preventDefault();
  to.focus();
});
