// The evenings to come, one a line: when, what, and who put it there. A touched one opens right
// below, or beside where there is room.
import { choosing, focus, inView } from "./day.js";
import { evenings, later, month, number, weekday } from "./dates.js";
import { h } from "./dom.js";
import { undo } from "./evening.js";
import { stuck } from "./head.js";
import { everyEvening } from "./hours.js";
import "./order.js";
import { choose, onChange, Panel, state, wide } from "./store.js";
import { send } from "./line.js";

/** @typedef {import("./wire").Day} Day */

/** Evenings on a page; and in a row, over which a show's colours run. */
const COUNT = 28, WEEK = 7;
/** What was asked for, on which line to the desk. @type {[object | null, string]} */
let looked = [null, "-"];

onChange(() => {
  if (state.view !== "calendar" || state.link !== "open" || !state.session) return;
  if (looked[0] === state.session && looked[1] === state.from) return;
  if (send({ type: "look_days", first: state.from || null, count: COUNT })) looked = [state.session, state.from];
});

/** Whether an evening is like the one before, but for the sun. @param {Day | undefined} a @param {Day} b */
function alike(a, b) {
  const what = (/** @type {Day} */ d) => JSON.stringify([d.by, d.why, d.dark, d.pieces.map(p => [p.file, p.brightness])]);
  return a !== undefined && what(a) === what(b);
}

/** @param {string} date */
function touched(date) {
  const { first, last } = state, only = date === first && date === last;
  if (state.until) choose({ first: date < first ? date : first, last: date < first ? first : date, until: false });
  else choose({ first: only ? "" : date, last: only ? "" : date });
  choose({ wish: { what: "" }, answer: null, tried: "" });
  state.said.delete("days");
  if (state.first) inView();
}

/** Where an hour lies between 15:00 and 3:00, in percent. @param {string} clock */
function along(clock) {
  const [hour, minute] = clock.split(":").map(Number), at = hour + minute / 60;
  return 100 * Math.min(Math.max((at < 12 ? at + 24 : at) - 15, 0), 12) / 12;
}

/** @param {string} file */
const row = file => state.shows.find(s => s.file === file);

/** @param {string} file */
function colours(file) {
  const found = row(file)?.colours ?? [];
  return found.length ? [...found, found[0]].join(", ") : "#8d95a5, #8d95a5";
}

/** @param {string} start @param {string} stop */
const place = (start, stop) => ({ left: `${along(start)}%`, width: `${Math.max(along(stop) - along(start), 1)}%` });

/** From when to when, each show in its colours, darker where it is dimmed. @param {Day} d */
function bars(d) {
  const runs = d.pieces.filter((p, n) => p.file !== d.pieces[n - 1]?.file || p.start !== d.pieces[n - 1]?.stop);
  const ends = d.pieces.filter((p, n) => p.file !== d.pieces[n + 1]?.file || p.stop !== d.pieces[n + 1]?.start);
  return h("span", { class: "hours", "aria-hidden": "true" },
    runs.map((p, n) => h("i", { style: { ...place(p.start, ends[n].stop), background: `linear-gradient(90deg, ${colours(p.file)})` } })),
    d.pieces.map(p => p.brightness < 1 && h("i", { class: "dim", style: { ...place(p.start, p.stop), opacity: `${0.65 * (1 - p.brightness)}` } })));
}

const axis = () => h("span", { class: "hours axis", "aria-hidden": "true" }, ["15:00", "18:00", "21:00", "0:00", "3:00"].map(t => h("span", { style: { left: `${t === "3:00" ? 100 : along(t)}%` } }, t)));

/** @param {Day} d */
function what(d) {
  if (d.dark) return "Dark";
  if (!d.pieces.length) return "Nothing plays";
  return [...new Set(d.pieces.map(p => p.title))].join(", ");
}

/** @param {Day} d @param {boolean} same */
function why(d, same) {
  if (d.pieces.some(p => !row(p.file))) return h("span", { class: "why bad" }, "its file is missing");
  if (d.pieces.some(p => row(p.file)?.problem)) return h("span", { class: "why bad" }, "its file has a mistake");
  if (d.by === "hand") return h("span", { class: "why hand" }, d.why ? `chosen: ${d.why}` : "chosen");
  return d.why && !same && h("span", { class: "why" }, d.by === "rule" ? `rule: ${d.why}` : d.why);
}

/** @param {Day} d @param {number} nth of those alike in a row */
function line(d, nth) {
  const on = state.first <= d.date && d.date <= state.last, same = nth > 0;
  const first = d.pieces[0], last = d.pieces[d.pieces.length - 1];
  const tonight = d.date === state.days?.tonight, because = why(d, same);
  const kinds = [same && "same", !first && "off", on && "on", !because && "one", weekday(d.date) === "Mon" && "monday"].filter(Boolean);
  return h("li", { key: d.date, class: `night ${kinds.join(" ")}` },
    h("button", { type: "button", class: "day", "aria-pressed": on, onclick: () => touched(d.date) },
      h("span", { class: "date" }, h("span", { class: "quiet" }, tonight ? "Tonight" : weekday(d.date)), " ", h("b", null, number(d.date)), " "),
      h("span", { class: "ribbon", "aria-hidden": "true", style: { "background-image": first ? `linear-gradient(${colours(first.file)})` : "none", "background-position": `0 ${nth % WEEK * 100 / (WEEK - 1)}%`, opacity: `${0.3 + 0.7 * d.brightness}` } }),
      h("span", { class: "what" }, what(d)), " ", because, " ", bars(d),
      h("span", { class: "times" }, first ? `${first.start} – ${last.stop}` : "")),
    !wide.matches && state.last === d.date && h("div", { key: "open", class: "fold" }, choosing()));
}

/** @param {Day[]} days */
function months(days) {
  /** @type {[string, import("./dom.js").MaybeKid[]][]} */
  const made = [];
  let nth = 0;
  for (const [n, d] of days.entries()) {
    const name = month(d.date);
    nth = alike(days[n - 1], d) ? nth + 1 : 0;
    if (made.at(-1)?.[0] !== name) made.push([name, []]);
    made.at(-1)?.[1].push(line(d, nth));
  }
  return made.map(([name, rows]) => h("div", { key: name }, h("div", { class: "month" }, h("h3", null, name), axis()), h("ul", { class: "nights" }, rows)));
}

/** Other evenings are shown, from the first on. @param {string} from */
function turned(from) {
  choose({ from, first: "", last: "", until: false });
  document.querySelector(".coming")?.scrollIntoView({ block: "start" });
}

class Calendar extends Panel {
  view() {
    const days = state.days;
    if (state.view !== "calendar") return null;
    if (!days) return h("section", { class: "coming" }, h("p", { class: "quiet", role: "status" }, "Looking up the evenings …"));
    const first = days.days[0]?.date ?? "", last = days.days.at(-1)?.date ?? "";
    const step = (/** @type {string} */ word, /** @type {string} */ from) => h("button", { type: "button", onclick: () => turned(from) }, word);
    const before = later(first || "2000-01-01", -COUNT);
    return h("section", { "aria-label": "Coming evenings", class: "coming" },
      h("div", { class: "row" }, h("h2", null, "Coming evenings"), h("span", { class: "space" }),
        first > days.tonight && step("Earlier evenings", before > days.tonight ? before : ""), !state.first && undo()), days.problem && h("p", { class: "said", role: "alert" }, stuck() || days.problem),
      everyEvening(),
      months(days.days),
      days.days.length > 0 && evenings(last, days.farthest) > 1 && h("div", { key: "later", class: "row" }, step("Later evenings", later(last, 1))),
      !days.days.length && h("p", { class: "quiet" }, "There are no evenings to show yet."));
  }
}

customElements.define("lm-calendar", Calendar);

// Once all is drawn: where the control that had the focus is gone, who goes by keys goes on from the
// evening that it was about.
onChange(() => {
  if (!focus.here || document.activeElement !== document.body) return;
  /** @type {HTMLElement | null} */ (document.querySelector(".day[aria-pressed=true]"))?.focus({ preventScroll: true });
});
