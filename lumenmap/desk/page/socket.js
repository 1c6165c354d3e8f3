// The line to the server: connects, connects again, takes what is told into the store, and sends
// edits one after another, each made against what the server said last.
import { changed, get, state, unsay } from "./store.js";
import { forget, takeLight } from "./light.js";

/** The messages' version that this page speaks. */
const VERSION = 3;
/** Waits before it tries again (ms), the last one for good. */
const WAITS = [300, 1000, 2000, 4000];

/** Said of what was asked while the line was broken. */
const AWAY = "The desk doesn't answer now, so nothing was changed. Try again when it is back.";
const BACK = "The desk was away, so nothing was changed. Try again now.";

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

/** @type {WebSocket | null} */
let socket = null;
let tries = 0, ids = 0, heard = 0;
/** Whether the show in the store is of this line. */
let current = false;
/** @type {number | undefined} */
let timer;
/** @type {Wish[]} */
let wishes = [];
/** @type {Map<number, { key: string, done?: (() => void) | undefined, not?: (() => void) | undefined }>} */
const asked = new Map();

/** @param {object} message @returns {boolean} whether it was sent */
export function send(message) {
  if (!socket || socket.readyState !== WebSocket.OPEN) return false;
  socket.send(JSON.stringify(message));
  return true;
}

/**
 * Ask for what isn't an edit of the show; a refusal is said beside the control.
 * @param {string} key @param {{ type: string, [word: string]: any }} message
 * @param {() => void} [done] @param {() => void} [not] called if it isn't done
 * @returns {number} its id, which the answer has
 */
export function ask(key, message, done, not) {
  unsay(key);
  const id = ++ids;
  if (send({ ...message, id })) asked.set(id, { key, done, not });
  else { state.said.set(key, AWAY); not?.(); }
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
  if (send({ type: "edit", id, file: show.file, version: show.version, edits, label, gesture })) wish.id = id;
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
  other?.done?.();
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
  if (state.file !== file) Object.assign(state, { file, show: null, findings: null, cue: 0, layer: 0, word: "", mixing: "" });
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
  tries = 0;
  state.link = "open";
  state.farewell = "";
  // What was on its way is sent again if that can't do it twice.
  for (const wish of wishes.filter(w => w.id !== undefined)) {
    if (!state.show || wish.make(state.show).every(e => /** @type {any} */ (e).op === "set")) wish.id = wish.version = undefined;
    else {
      wishes = wishes.filter(w => w !== wish);
      state.drafts.delete(wish.key);
      state.said.set(wish.key, "The desk was away when you changed this. Look whether it is done, and do it again if not.");
    }
  }
  current = false;
  forget();
  for (const [key, text] of state.said) if (text === AWAY) state.said.set(key, BACK);
  for (const { not } of asked.values()) not?.(); // the server tells how things stand
  asked.clear();
  if (state.file) send({ type: "open", file: state.file });
  changed();
}

async function closed() {
  socket = null;
  if (state.link === "old") return;
  state.link = "lost";
  changed();
  try {
    const answer = await fetch("/", { cache: "no-store" });
    if (answer.status === 401) state.link = "unpaired";
  } catch { /* it doesn't answer: tried again below */ }
  changed();
  clearTimeout(timer);
  if (state.link === "lost") timer = setTimeout(connect, WAITS[Math.min(tries++, WAITS.length - 1)]);
}

/** Connect, now. */
export function connect() {
  clearTimeout(timer);
  if (socket) return;
  const made = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/socket`);
  socket = made;
  made.binaryType = "arraybuffer";
  made.addEventListener("open", opened);
  made.addEventListener("message", event => {
    heard = performance.now();
    if (typeof event.data === "string") take(JSON.parse(event.data)); else void takeLight(event.data);
  });
  made.addEventListener("close", () => { if (socket === made) void closed(); });
}

// A phone that slept may hold a line that is dead on the other end.
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState !== "visible" || state.link === "old") return;
  if (socket && performance.now() - heard < 20_000) return;
  const old = socket;
  socket = null;
  old?.close();
  connect();
});
addEventListener("online", connect);
