// What is wanted of the chosen evenings: a show, how bright, dark, or as planned. It is told in a
// sentence what that does; then it is done.
import { chosenDays, evenings, words } from "./dates.js";
import { h } from "./dom.js";
import { besideConfirming, caution, colours, large, levels, undo } from "./evening.js";
import { said } from "./head.js";
import { bring, choose, onChange, Panel, state, unsay, wide } from "./store.js";
import { ask, open } from "./socket.js";

/** @typedef {"" | "show" | "brightness" | "dark" | "planned"} What */
/** @typedef {{ what: What, file?: string, level?: number, start?: string, stop?: string, quiet?: boolean, name?: string, hours?: boolean }} Wish */

const DO = { "": "", show: "Play it", brightness: "Set this brightness", dark: "Make it dark", planned: "Back to the plan" };
let waits = 0, number = 0, typing = false;
/** The evenings that the last question was about. @type {object | null} */
let seen = null;

function message() {
  const w = state.wish, show = w.what === "show";
  return {
    first: state.first, last: state.last, what: w.what, file: show ? w.file ?? null : null,
    level: w.what === "brightness" ? w.level ?? null : null, name: show || w.what === "dark" ? w.name ?? "" : "",
    start: show ? w.start || null : null, stop: show ? w.stop || null : null, quiet: show ? w.quiet ?? null : null,
  };
}

/** Whether there is something to ask: a show is touched, a brightness, or the rest. */
const ready = () => Boolean(state.first && state.wish.what && (state.wish.what !== "show" || state.wish.file) && (state.wish.what !== "brightness" || state.wish.level));

function question() {
  clearTimeout(waits);
  if (!ready()) return;
  seen = state.days;
  number = ask("days", { type: "ask_days", wish: message() });
}

/** @param {Partial<Wish>} part what is wanted otherwise now */
function want(part) {
  state.wish = { ...state.wish, ...part };
  number = -1;
  unsay("days");
  unsay("set");
  choose({ answer: null });
  clearTimeout(waits);
  waits = setTimeout(question, "what" in part || "file" in part ? 0 : 250);
}

/** Whether the focus is on what is done with an evening, before that is drawn again. */
export const focus = { here: false };
onChange(() => { focus.here = Boolean(document.activeElement?.closest(".choosing")); });

// The evening that was chosen is over while the page lies there.
onChange(() => {
  const tonight = state.days?.tonight ?? "";
  if (!state.first || state.first >= tonight) return;
  if (state.last >= tonight) state.first = tonight;
  else Object.assign(state, { first: "", last: "", until: false, wish: { what: "" }, answer: null, tried: "" });
});

// What was read holds only as long as the evenings stay as they are.
onChange(() => { if (state.view === "calendar" && state.days !== seen && ready()) question(); });

/** @param {What} what */
const begin = what => () => {
  state.tried = "";
  state.wish = { what: "" };
  want({ what, ...(what === "brightness" && { level: chosenDays()[0]?.brightness ?? 1 }) });
};

function act() {
  const answer = state.answer;
  if (!answer || answer.id !== number) return;
  ask("set", { type: "set_days", wish: message(), agreed: answer.sentence }, () => {
    choose({ wish: { what: "" }, answer: null, tried: "" });
    inView();
  }, () => { if (state.link === "open") question(); }); // else it is said once that nobody answers
}

/** What is open is brought into the window, once it is drawn. */
export function inView() {
  bring(".choosing");
}

function shows() {
  return h("ul", { key: "shows", class: "shows" }, state.shows.filter(s => !s.problem).map(s => h("li", { key: s.file }, h("button", {
    type: "button", class: "show", "aria-pressed": state.wish.file === s.file,
    onclick: () => { state.tried = s.file; open(s.file); want({ file: s.file }); besideConfirming(); },
  }, h("span", null, s.title), colours(s)),
  state.wish.file === s.file && h("div", { key: "open", class: "opened" }, consequence(), hours(), reason()))));
}

function hours() {
  const on = Boolean(state.wish.hours);
  return [
    h("button", { key: "hours", type: "button", "aria-expanded": on, onclick: () => { state.wish = { ...state.wish, hours: !on }; choose({}); } }, "Other hours"),
    on && h("div", { key: "times", class: "row" }, time("Begins", "start", { sunset: "at sunset", dusk: "at dusk" }, "18:00"), time("Ends", "stop", { sunrise: "at sunrise" }, "22:30"))];
}

/** @param {string} word @param {"start" | "stop"} key @param {Record<string, string>} sun @param {string} usual */
function time(word, key, sun, usual) {
  const now = state.wish[key] ?? "", clock = now !== "" && !(now in sun);
  return h("div", { key, class: "row" }, h("label", { class: "pick" }, h("span", { class: "quiet" }, word), h("select", {
    value: clock ? "clock" : now, onchange: (/** @type {any} */ e) => want({ [key]: e.target.value === "clock" ? usual : e.target.value }),
  }, Object.entries({ "": "as planned", ...sun, clock: "at …" }).map(([value, text]) => h("option", { key: value, value }, text)))),
  clock && h("input", { key: "clock", type: "time", value: now, "aria-label": `${word} at`, onchange: (/** @type {any} */ e) => want({ [key]: e.target.value || usual }) }));
}

const reason = () => h("label", { key: "name", class: "pick" }, h("span", { class: "quiet" }, "Why, if you like"), h("input", {
  type: "text", class: "title", maxlength: 60, value: state.wish.name ?? "", oninput: (/** @type {any} */ e) => want({ name: e.target.value.trim() }),
}));

function consequence() {
  const answer = state.answer, w = state.wish, show = w.what === "show" && state.shows.find(s => s.file === w.file);
  if (!ready()) return null;
  return h("div", { key: "does", class: "does" },
    h("p", { role: "status" }, answer?.sentence ?? (state.said.has("days") ? "" : "…")),
    answer?.notes.map(note => h("p", { key: note, class: "dimmed" }, note)),
    (answer?.hushed || w.quiet) && w.what === "show" && h("button", { key: "quiet", type: "button", "aria-pressed": Boolean(w.quiet), onclick: () => want({ quiet: !w.quiet }) }, "Play on through the quiet hours"),
    show && caution(show), said("days"), said("set"),
    h("button", { key: "go", type: "button", class: "go", disabled: !answer, onclick: act }, DO[w.what]));
}

/** The last of several evenings is touched, or its date is given. */
function untilWhen() {
  const { first, last } = state, field = (/** @type {string} */ word, /** @type {"first" | "last"} */ key) => h("label", { key, class: "pick" }, h("span", { class: "quiet" }, word), h("input", {
    type: "date", min: state.days?.tonight ?? "", max: state.days?.farthest ?? "", value: state[key],
    // Half a date that is typed is a date too, of the year 2: it counts once the field is left.
    onkeydown: (/** @type {any} */ e) => {
      typing = e.key !== "Enter";
      if (typing) return;
      e.preventDefault(); // it isn't for what gets the focus by that
      dated(key, e.target.value);
    },
    onchange: (/** @type {any} */ e) => { if (!typing) dated(key, e.target.value); },
    onblur: (/** @type {any} */ e) => { if (typing) dated(key, e.target.value); typing = false; },
  }));
  return h("div", { key: "until", class: "choosing" },
    h("p", { role: "status" }, `From ${words(first, first)} until when? Touch the last evening, or give the dates.`),
    h("div", { class: "row" }, field("From", "first"), field("to", "last")),
    h("div", { class: "row" }, h("button", { key: "done", type: "button", onclick: () => choose({ until: false }) }, first === last ? "Only this evening" : "These evenings")));
}

/** @param {"first" | "last"} key @param {string} given nothing, if it isn't a date */
function dated(key, given) {
  const { tonight = "", farthest = "" } = state.days ?? {};
  if (!given || given === state[key]) return choose({});
  const date = given < tonight ? tonight : given > farthest ? farthest : given;
  const first = key === "first" ? date : state.first < date ? state.first : date;
  const last = key === "last" ? date : state.last > date ? state.last : date;
  const shown = state.days?.days ?? [];
  // A date that isn't on the page brings its own.
  if (!shown.some(d => d.date === last)) state.from = date;
  choose({ first, last, answer: null });
  want({});
}

/** What is known of the chosen evenings: what plays, and who put it there. @param {import("./wire").Day[]} days @param {number} count */
function known(days, count) {
  const [d] = days;
  if (!d) return null; // it is still on its way
  if (count > 1) {
    const titles = new Set(days.flatMap(one => one.pieces.map(p => p.title)));
    return h("p", null, `${count} evenings${days.length < count || !titles.size ? "" : `: ${[...titles].join(", ")}`}.`);
  }
  const what = d.sentence || (d.dark ? "Dark." : "Nothing plays.");
  const who = { hand: `Chosen by hand${d.why ? `: ${d.why}` : ""}.`, rule: `By the almanac's rule “${d.why}”.`, nobody: d.why && `${d.why[0].toUpperCase()}${d.why.slice(1)}.` };
  return h("p", null, what, " ", h("span", { class: "quiet" }, who[d.by]));
}

/** The chosen evenings, and what may be done with them. */
export function choosing() {
  const { first, last, wish } = state, days = chosenDays(), count = evenings(first, last), what = wish.what;
  if (state.until) return untilWhen();
  const own = days.length < count || days.some(d => d.by === "hand");
  return h("div", { key: "choosing", class: "choosing" },
    h("div", { class: "row" }, h("h2", null, words(first, last)), h("button", { type: "button", "aria-label": count > 1 ? "Other dates" : "Several evenings", onclick: () => choose({ until: true, wish: { what: "" }, answer: null, tried: "" }) }, count > 1 ? "Other dates" : "Several")),
    known(days, count),
    h("div", { class: "three" },
      large("Another show", "", what === "show", begin("show"), "a"), large("Brightness", "", what === "brightness", begin("brightness"), "b"),
      large("Dark", "", what === "dark", begin("dark"), "c")),
    what === "show" && [h("p", { key: "hint", class: "quiet" }, "Touch a show to see it on the house. Nothing changes yet."), shows()],
    what === "brightness" && levels(wish.level ?? 1, level => want({ level }), "Brightness of these evenings"),
    what === "dark" && reason(), what !== "show" && what !== "planned" && consequence(),
    own && h("button", { key: "planned", type: "button", class: "undo", "aria-pressed": what === "planned", onclick: begin("planned") }, "As planned again"),
    what === "planned" && consequence(), !what && undo());
}

class ChosenDay extends Panel {
  view() {
    if (state.view !== "calendar" || !wide.matches) return null;
    if (!state.first) return h("section", { class: "aside" }, h("p", { class: "quiet" }, "Touch an evening to change it, or to see it on the house."));
    return h("section", { "aria-label": "The chosen evenings", class: "aside" }, choosing());
  }
}

customElements.define("lm-day", ChosenDay);
