// What the server said last, what this person looks at, and the edits that aren't answered yet.
// Panels are functions of it: they draw themselves again when it changes, and change nothing here
// but by the functions below.
import { patch } from "./dom.js";

/** @typedef {import("./wire")} W */
/** @typedef {"tonight" | "calendar" | "compose"} View */
/** @typedef {(string | number)[]} Path */

export const state = {
  /** @type {"connecting" | "open" | "lost" | "unpaired" | "old"} */
  link: "connecting",
  farewell: "",
  /** @type {import("./wire").Session | null} */
  session: null,
  /** @type {import("./wire").ShowRow[]} */
  shows: [],
  /** @type {import("./wire").Tonight | null} */
  tonight: null,
  /** @type {import("./wire").Show | null} */
  show: null,
  /** @type {import("./wire").Findings | null} */
  findings: null,
  /** @type {import("./wire").Problem[]} */
  problems: [],
  /** @type {import("./wire").Light | null} */
  light: null,
  /** @type {import("./wire").Invitation | null} */
  invitation: null,
  /** The controllers that answered. @type {import("./wire").Controllers | null} */
  controllers: null,
  /** Whether their network is asked for, or being asked. @type {"" | "network" | "asked"} */
  finding: "",
  /** @type {import("./wire").PaletteChecked | null} */
  checked: null,
  /** The show that was removed here last, while it is told of. @type {{ file: string, title: string, kept: string } | null} */
  removed: null,
  /** The show that this browser asked for, and the one before it. */
  file: "",
  before: "",
  /** @type {View} */
  view: "tonight",
  /** What is folded out in the evening: shows, brightness. */
  asked: "",
  /** A show that is looked at for tonight, not yet chosen. */
  tried: "",
  /** Whether the hours of every evening are folded out. */
  late: false,
  /** The evenings of the calendar. @type {import("./wire").Days | null} */
  days: null,
  /** The first of them that is asked for; empty is tonight. */
  from: "",
  /** The evenings that are chosen in it, and whether the last one is to be touched. */
  first: "",
  last: "",
  until: false,
  /** What is wanted of them, and what that would do. @type {import("./day.js").Wish} */
  wish: { what: "" },
  /** @type {import("./wire").DaysAnswer | null} */
  answer: null,
  cue: 0,
  layer: 0,
  /** The word of the layer whose control is open: effect, palette, on, an option's name. */
  word: "",
  /** The palette that is being mixed, and its chosen stop. */
  mixing: "",
  stop: 0,
  /** The photo whose colours were asked for: its name, or what is being done. */
  photo: "",
  /** The chosen point of the ramp whose control is open. */
  point: 0,
  /** What of the show's own is folded out, and which of it is chosen. @type {"" | "settings" | "values" | "groups" | "routes"} */
  own: "",
  named: "",
  /** Whether the fades of the cue are folded out. */
  fades: false,
  /** The edge that was touched. */
  edge: "",
  /** Sentences of refused edits, by the control that asked. @type {Map<string, string>} */
  said: new Map(),
  /** Refused because somebody else changed the same meanwhile: how to have one's own all the same. @type {Map<string, () => void>} */
  mine: new Map(),
  /** Values that are on their way, by control. @type {Map<string, any>} */
  drafts: new Map(),
};

/** @type {Set<() => void>} */
const readers = new Set();
let due = false;

/** Draw all panels again, once. */
export function changed() {
  if (due) return;
  due = true;
  queueMicrotask(() => {
    due = false;
    const held = holders();
    for (const read of readers) read();
    if (held.length && document.activeElement === document.body) hold(held);
    if (sought) requestAnimationFrame(found);
  });
}

/** The control that has the focus, and all that it is in. @returns {Element[]} */
function holders() {
  const all = [];
  for (let e = document.activeElement; e && e !== document.body; e = e.parentElement) all.push(e);
  return all;
}

/** A control went with what was done by it: who goes by keys, or hears the page, goes on at a button near it. @param {Element[]} held */
function hold(held) {
  for (const near of held.filter(e => e.isConnected)) {
    // A field wouldn't take what the desk tells while the focus is in it.
    const next = [...near.querySelectorAll("button")].find(e => e.getClientRects().length && !e.disabled);
    if (next) return next.focus({ preventScroll: true });
  }
}

/** Say no more of a refused edit. @param {string} key */
export function unsay(key) {
  state.said.delete(key);
  state.mine.delete(key);
}

/** @param {Partial<typeof state>} words what this person looks at now */
export function choose(words) {
  Object.assign(state, words);
  changed();
}

/** What is to come into the window, and the view that it belongs to. @type {{ selector: string, block: ScrollLogicalPosition, view: View } | null} */
let sought = null;

/**
 * Bring the first element that a selector finds into the window, once it is drawn: at the next frame,
 * or when the desk has told what it is drawn from. Whoever goes to another view meanwhile isn't held up.
 * @param {string} selector @param {ScrollLogicalPosition} block
 */
export function bring(selector, block = "nearest") {
  sought = { selector, block, view: state.view };
  requestAnimationFrame(found);
}

function found() {
  if (!sought) return;
  const element = sought.view === state.view && document.querySelector(sought.selector);
  if (element) element.scrollIntoView({ block: sought.block });
  if (element || sought.view !== state.view) sought = null;
}

/** A part of the page that is a function of the store. */
export class Panel extends HTMLElement {
  connectedCallback() {
    this.redraw = () => patch(this, [this.view()]);
    readers.add(this.redraw);
    this.redraw();
  }

  disconnectedCallback() {
    if (this.redraw) readers.delete(this.redraw);
  }

  /** @returns {import("./dom.js").MaybeKid} */
  view() {
    return null;
  }
}

/** @param {() => void} read called when the store has changed */
export function onChange(read) {
  readers.add(read);
}

/** @param {any} data @param {Path} path @returns {any} */
export function get(data, path) {
  for (const part of path) {
    if (data === null || typeof data !== "object") return null;
    data = data[part];
  }
  return data === undefined ? null : data;
}

/** Whether there is room beside the house. */
export const wide = matchMedia("(min-width: 60rem)");
wide.addEventListener("change", changed);

/** Whether this person composes, and not only chooses. */
export function composing() {
  return state.view === "compose" && state.session?.rights === "compose";
}

/** The cue that is chosen, if there still is one. */
export function chosenCue() {
  return state.show?.cues[Math.min(state.cue, state.show.cues.length - 1)] ?? null;
}

/** The palette of a name, the show's own first. @param {string} name */
export function paletteOf(name) {
  return state.show?.palettes.find(p => p.name === name) ?? state.session?.palettes.find(p => p.name === name) ?? null;
}

/** What is to be known before the show on the picture is chosen. @param {string} file @param {string} title */
export function unplayed(file, title) {
  const { findings, show } = state, own = /** @type {any} */ (show?.data.show);
  if (findings?.file !== file || !findings.flashing.length || show?.file !== file || own?.flashing) return "";
  return `“${title}” flashes fast, so the house won't play it as it is.`;
}

/** Whether the picture must stay dark until the person agrees. */
export function flashes() {
  return Boolean(state.findings && state.findings.flashing.length && !state.findings.allowed);
}
