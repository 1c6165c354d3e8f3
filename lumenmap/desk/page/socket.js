// What goes over the line: takes what is told into the store, and sends edits one after another, each
// made against what the server said last.
import { changed, get, state, unsay } from "./store.js";
import { forget, takeLight } from "./light.js";
import { connect, expect, send } from "./line.js";

/** The messages' version that this page speaks. */
const VERSION = 3;

/** Said of what was asked while the line was broken. */
const AWAY = "The desk doesn't answer now, so nothing was changed. Try again when it is back.";
const BACK = "The desk was away, so nothing was changed. Try again now.";
const LOOK = "The desk was away when you changed this. Look whether it is done, and do it again if not.";

/** By the controls that ask them: what changes nothing. */
const QUESTIONS = new Set(["days", "find", "check", "invite"]);

/**
 * @typedef {object} Wish
 * @property {string} key of the control
 * @property {string} label
 * @property {string} gesture
 * @property {(show: import("./wire").Show) => object[]} make the edits, from the show as it stands
 * @property {(() => void) | undefined} done
 * @property {number} [id]
 * @property {number} [version] that the answer named
 * @property {boolean} [again] it was sent before the line broke
 */

let ids = 0;
/** Whether the show in the store is of this line. */
let current = false;
/** @type {Wish[]} */
let wishes = [];
/** @type {Map<number, { key: string, done?: ((answer: import("./wire").Accepted) => void) | undefined, not?: (() => void) | undefined }>} */
const asked = new Map();

/**
 * Ask for what isn't an edit of the show; a refusal is said beside the control.
 * @param {string} key @param {{ type: string, [word: string]: any }} message
 * @param {(answer: import("./wire").Accepted) => void} [done] @param {() => void} [not] called if it isn't done
 * @returns {number} its id, which the answer has
 */
export function ask(key, message, done, not) {
  unsay(key);
  const id = ++ids;
  if (send({ ...message, id })) {
    asked.set(id, { key, done, not });
    expect();
  } else {
    state.said.set(key, AWAY);
    not?.();
  }
  changed();
  return id;
}

/**
 * Have the show changed; of a drag only the newest change waits.
 * @param {string} key @param {string} label
 * @param {(show: import("./wire").Show) => object[]} make
 * @param {{ gesture?: string, draft?: any, done?: () => void }} [how]
 */
export function edit(key, label, make, how = {}) {
  unsay(key);
  if ("draft" in how) state.drafts.set(key, how.draft);
  const gesture = how.gesture ?? "";
  if (gesture) wishes = wishes.filter(w => w.id !== undefined || w.key !== key || w.gesture !== gesture);
  wishes.push({ key, label: label.slice(0, 80), gesture: gesture.slice(0, 80), make, done: how.done });
  next();
  changed();
}

/**
 * Have one value in the show's file; a function makes it from what is there when its turn comes, so
 * that what was touched just before isn't lost.
 * @param {import("./store.js").Path} path @param {any} value @param {string} label
 * @param {{ gesture?: string, draft?: any, key?: string }} [how]
 */
export function put(path, value, label, how = {}) {
  const make = (/** @type {import("./wire").Show} */ show) => {
    const old = get(show.data, path), made = typeof value === "function" ? value(old) : value;
    return JSON.stringify(old) === JSON.stringify(made) ? [] : [{ op: "set", path, old, new: made }];
  };
  edit(how.key ?? path.join("."), label, make, how);
}

/** Send the first wish, unless one is on its way. */
function next() {
  const wish = wishes[0], show = state.show;
  if (!wish || wish.id !== undefined || !current || !show || show.file !== state.file) return;
  const edits = wish.make(show);
  if (!edits.length) return finish(wish);
  const id = ++ids, { label, gesture } = wish;
  if (send({ type: "edit", id, file: show.file, version: show.version, edits, label, gesture })) {
    wish.id = id;
    expect();
  }
}

/** @param {Wish} wish */
function finish(wish) {
  wishes = wishes.filter(w => w !== wish);
  if (!wishes.some(w => w.key === wish.key)) state.drafts.delete(wish.key);
  wish.done?.();
  next();
}

/** @param {import("./wire").Accepted} message */
function accepted(message) {
  const wish = wishes.find(w => w.id === message.id);
  if (wish) wish.version = message.version;
  const other = asked.get(message.id);
  asked.delete(message.id);
  if (message.file && other?.key === "new") open(message.file);
  other?.done?.(message);
  settle();
}

/** The next edit is made against the show that holds the last. */
function settle() {
  const wish = wishes[0];
  if (wish?.version !== undefined && state.show && state.show.version >= wish.version) finish(wish);
  else next();
}

/** @param {import("./wire").Refused} message */
function refused(message) {
  const wish = wishes.find(w => w.id === message.id), other = asked.get(message.id ?? -1);
  const key = wish?.key ?? other?.key ?? "page";
  state.said.set(key, message.sentence);
  if (message.conflict && wish) {
    const { label, make, done } = wish;
    state.mine.set(key, () => edit(key, label, make, done ? { done } : {}));
  } else state.mine.delete(key);
  if (message.id !== null) asked.delete(message.id);
  other?.not?.();
  if (key === "find") state.finding = "network";
  if (wish) {
    wishes = wishes.filter(w => w === wish || w.key !== wish.key);
    wish.done = undefined;
    finish(wish);
  }
}

/** Look at a show. @param {string} file */
export function open(file) {
  if (state.file !== file) Object.assign(state, { before: state.file, file, show: null, findings: null, cue: 0, layer: 0, word: "", mixing: "" });
  send({ type: "open", file });
  changed();
}

/** @param {import("./wire").ServerMessage} message */
function take(message) {
  if (message.type === "session") {
    if (message.version !== VERSION) state.link = "old";
    state.session = message;
  } else if (message.type === "shows") state.shows = message.shows;
  else if (message.type === "evening") {
    // What was said of another evening doesn't hold any more.
    const was = state.tonight, now = message.tonight;
    if (was && (was.sentence !== now.sentence || was.problem !== now.problem)) for (const key of ["dark", "choose", "brightness", "undone"]) state.said.delete(key);
    state.tonight = now;
  }
  else if (message.type === "show" && message.file === state.file) {
    if (message.changed_by === "editor" && message.version !== state.show?.version) state.said.clear();
    state.show = message;
    current = true;
    settle();
  } else if (message.type === "findings" && message.file === state.file) state.findings = message;
  else if (message.type === "accepted") accepted(message);
  else if (message.type === "refused") refused(message);
  else if (message.type === "problems") {
    if (message.problems.length < state.problems.length) state.said.clear();
    state.problems = message.problems;
  }
  else if (message.type === "house_light") state.light = message.light;
  else if (message.type === "days") state.days = message;
  else if (message.type === "palette_checked") state.checked = message;
  else if (message.type === "invitation") state.invitation = message;
  else if (message.type === "days_answer") state.answer = message;
  else if (message.type === "controllers") {
    state.controllers = message;
    state.finding = "network";
  } else if (message.type === "farewell") state.farewell = message.sentence;
  if ("id" in message && message.id !== null) asked.delete(message.id);
  changed();
}

function opened() {
  state.link = "open";
  state.farewell = "";
  // What was on its way is sent again if that can't do it twice.
  for (const wish of wishes.filter(w => w.id !== undefined)) {
    if (!state.show || wish.make(state.show).every(e => /** @type {any} */ (e).op === "set")) wish.id = wish.version = undefined;
    else {
      wishes = wishes.filter(w => w !== wish);
      state.drafts.delete(wish.key);
      state.said.set(wish.key, LOOK);
    }
  }
  current = false;
  forget();
  for (const [key, text] of state.said) if (text === AWAY) state.said.set(key, BACK);
  for (const { key, not } of asked.values()) {
    if (!QUESTIONS.has(key)) state.said.set(key, LOOK);
    not?.(); // the server tells how things stand
  }
  asked.clear();
  if (state.file) send({ type: "open", file: state.file });
  changed();
}

/** Go to the desk, and stay there. */
export function start() {
  connect({ opened, take, takeLight, waits: () => asked.size > 0 || wishes.some(w => w.id !== undefined) });
}
