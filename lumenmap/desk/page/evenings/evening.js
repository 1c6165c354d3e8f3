// Tonight, for the family: one sentence, three large controls, undo.
import { h } from "./dom.js";
import { said, stuck } from "./head.js";
import { bring, choose, onChange, Panel, state, unplayed } from "./store.js";
import { ask, open } from "./socket.js";

const STEP = 0.1;
let waits = 0;
/** The evening that an answered dimming will replace. @type {import("./wire").Tonight | null} */
let replaced = null;

onChange(() => {
  if (!replaced || state.tonight === replaced) return;
  replaced = null;
  state.drafts.delete("brightness");
});

/** @param {string} word the control's own @param {string} below @param {boolean} on @param {() => void} onclick @param {string} kind */
export function large(word, below, on, onclick, kind) {
  return h("button", { type: "button", key: word, class: `large ${kind}`, "aria-pressed": on, onclick },
    h("span", { class: "what" }, word), below && h("span", { class: "quiet" }, below));
}

/** @param {string} what */
const fold = what => () => choose({ asked: state.asked === what ? "" : what, tried: "" });

/** @param {number} to */
function dim(to) {
  state.drafts.set("brightness", to);
  state.said.delete("brightness");
  replaced = null;
  choose({});
  clearTimeout(waits);
  // A hand that still moves isn't asked for yet.
  // What is refused, or never sent, isn't the evening's brightness: what was touched is let go.
  const same = () => state.drafts.get("brightness") === to;
  waits = setTimeout(() => ask("brightness", { type: "brightness", level: to }, () => {
    // The evening that comes with this answer says nothing of what was touched since.
    if (same()) replaced = state.tonight;
  }, () => { if (same()) state.drafts.delete("brightness"); }), 120);
}

const brightness = () => /** @type {number} */ (state.drafts.get("brightness") ?? state.tonight?.brightness ?? 1);

/** The show that is touched stays in the window, though what confirms it is drawn over its foot. */
export function besideConfirming() {
  bring(".show[aria-pressed=true]");
}

/** Tonight's hours are chosen where those of other evenings are. @param {string} file */
function otherHours(file) {
  const date = state.tonight?.date ?? "";
  history.replaceState(null, "", "#calendar");
  choose({ view: "calendar", asked: "", from: "", first: date, last: date, until: false, answer: null, tried: file, wish: { what: "show", file, hours: true } });
  bring(".opened select");
}

/** A show's colours, by which it is found among many. @param {import("./wire").ShowRow} show */
export function colours(show) {
  const all = show.colours;
  return h("i", { class: "strip", "aria-hidden": "true", style: { background: all.length ? `linear-gradient(90deg, ${all.join(", ")})` : "none" } });
}

/** Why the house won't play a show that is tried, before it is chosen. @param {import("./wire").ShowRow} show */
export function caution({ file, title }) {
  const why = unplayed(file, title);
  return why && h("p", { key: "flashes", class: "said", role: "alert" }, why);
}

function shows() {
  const tonight = state.tonight, now = tonight?.pieces.find(p => p.on_now)?.file ?? tonight?.pieces[0]?.file;
  return h("div", { key: "shows", class: "fold" }, h("h2", null, "Which show tonight?"),
    h("ul", { class: "shows" }, state.shows.filter(s => !s.problem).map(s => h("li", { key: s.file },
      h("button", {
        type: "button", class: "show", "aria-pressed": state.tried === s.file,
        onclick: () => { open(s.file); choose({ tried: s.file }); besideConfirming(); },
      }, h("span", null, s.title, s.file === now && h("span", { class: "quiet" }, " tonight so far")), colours(s)),
      state.tried === s.file && h("div", { key: "does", class: "does" }, caution(s), said("choose"), h("div", { class: "row" },
        h("button", { type: "button", class: "go", onclick: () => ask("choose", { type: "choose", file: s.file }, () => choose({ asked: "" })) }, "Play it tonight"),
        h("button", { type: "button", key: "hours", onclick: () => otherHours(s.file) }, "Other hours")))))),
    state.shows.length ? null : h("p", null, "There is no show yet. Compose one on a laptop, or run lumenmap new."));
}

/**
 * A slider with a step down and a step up.
 * @param {number} level @param {(level: number) => void} give @param {string} label
 * @param {() => number} [now] the level by now, though it isn't drawn yet
 */
export function levels(level, give, label, now = () => level) {
  const to = (/** @type {number} */ v) => give(Math.min(Math.max(Math.round(v * 100) / 100, 0.05), 1));
  return h("div", { key: "levels", class: "row levels" },
    h("button", { type: "button", "aria-label": "Dimmer", onclick: () => to(now() - STEP) }, "−"),
    h("input", {
      type: "range", min: 5, max: 100, step: 5, value: Math.round(level * 100), "aria-label": label,
      "aria-valuetext": `${Math.round(level * 100)} percent`, oninput: (/** @type {any} */ e) => to(e.target.value / 100),
    }),
    h("button", { type: "button", "aria-label": "Brighter", onclick: () => to(now() + STEP) }, "+"));
}

function brightnessFold() {
  const level = brightness(), t = state.tonight;
  if (!t?.pieces.length) return h("div", { key: "level", class: "fold" }, h("p", null,
    t?.dark ? "It is dark tonight. Touch “Light again” first." : "Nothing plays tonight. Touch “Another show” first."));
  return h("div", { key: "level", class: "fold" },
    h("h2", null, "How bright tonight?"),
    levels(level, to => dim(to), "Brightness tonight", brightness),
    h("p", { class: "quiet" }, "For tonight only. Tomorrow is as always."));
}

/** Takes back the last change of any evening, whoever made it. */
export function undo() {
  const t = state.tonight;
  return [
    t?.can_undo && h("button", { type: "button", key: "undo", class: "undo", onclick: () => ask("undone", { type: "undo_evening", undoes: t.undoes }) },
      t.undoes ? `Undo: ${t.undoes[0].toLowerCase()}${t.undoes.slice(1)}` : "Undo"),
    said("undone")];
}

/** Why a show that is planned for tonight can't play, and its file. */
function lost() {
  for (const { file, title } of state.tonight?.pieces ?? []) {
    const row = state.shows.find(s => s.file === file), gone = !row || row.problem;
    const why = gone ? `“${title}” can't play: its file ${row ? "has a mistake" : "is missing"}.` : unplayed(file, title);
    if (why) return { file, why: `${why} Choose another show.` };
  }
  return null;
}

class Evening extends Panel {
  view() {
    const t = state.tonight;
    if (state.view !== "tonight" || !t) return null;
    const level = Math.round(brightness() * 100), bad = lost();
    const title = state.shows.find(s => s.file === (t.pieces.find(p => p.on_now) ?? t.pieces[0])?.file)?.title;
    return h("section", { "aria-label": "Tonight" },
      h("p", { class: "tonight", role: "status" }, t.sentence),
      state.tried && h("p", { class: "quiet" }, "The picture shows what you try. Nothing has changed yet."),
      h("div", { class: "three" },
        large("Another show", title ?? "choose one", state.asked === "shows", fold("shows"), "a"),
        large("Brightness", t.dark ? "dark now" : t.pieces.length ? `${level} %` : "nothing plays", state.asked === "level", fold("level"), "b"),
        large(t.dark ? "Light again" : "Dark", t.dark ? "as before" : "for tonight", t.dark,
          () => ask("dark", { type: "dark", dark: !t.dark }, () => choose({ asked: "", tried: "" })), "c")),
      bad && state.tried !== bad.file && h("p", { key: "lost", class: "said", role: "alert" }, bad.why), !t.problem && said("dark"), !t.problem && said("brightness"),
      state.asked === "shows" && shows(), state.asked === "level" && brightnessFold(),
      undo(),
      t.problem && h("p", { class: "said", role: "alert" }, stuck()),
      t.running && !t.running.alive && h("p", { class: "quiet away" }, `The house doesn't follow now: lumenmap run has ended. ${t.running.sentence} What you choose is kept, and plays when it is started again.`),
      t.running?.problems.filter(p => !bad || !p.startsWith(`${bad.file}: `)).map(p => h("p", { key: p, class: "said" }, p)));
  }
}

customElements.define("lm-evening", Evening);
