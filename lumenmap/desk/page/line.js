// The line to the server: connects, and connects again once it is broken, or dead.
import { changed, state } from "./store.js";

/** Waits before it tries again (ms), the last one for good. */
const WAITS = [300, 1000, 2000, 4000];
/** So long an answer may take (ms): a line without a word since is dead, though nobody has hung up. */
const PATIENCE = 8000;

/**
 * @typedef {object} Ends what is done with the line
 * @property {() => void} opened
 * @property {(message: import("./wire").ServerMessage) => void} take
 * @property {(data: ArrayBuffer) => unknown} takeLight
 * @property {() => boolean} waits whether something that was asked isn't answered yet
 */

/** @type {WebSocket | null} */
let socket = null;
/** @type {Ends | null} */
let ends = null;
let tries = 0, heard = 0;
/** @type {number | undefined} */
let timer;
/** @type {number | undefined} */
let patience;

/** @param {object} message @returns {boolean} whether it was sent */
export function send(message) {
  if (!socket || socket.readyState !== WebSocket.OPEN) return false;
  socket.send(JSON.stringify(message));
  return true;
}

/** What was sent has an answer within some seconds; or else there is another line. */
export function expect() {
  const since = performance.now();
  clearTimeout(patience);
  patience = setTimeout(() => {
    if (!ends?.waits()) return;
    if (heard < since) drop(); else expect();
  }, PATIENCE);
}

/** Let go of a line that is dead: it would close by itself in minutes. */
function drop() {
  const old = socket;
  socket = null;
  old?.close();
  void closed();
}

async function closed() {
  socket = null;
  if (state.link === "old") return;
  state.link = "lost";
  changed();
  try {
    const answer = await fetch("/", { cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
    if (answer.status === 401) state.link = "unpaired";
  } catch { /* it doesn't answer: tried again below */ }
  changed();
  if (socket) return; // somebody has touched "Try now" meanwhile
  clearTimeout(timer);
  if (state.link === "lost") timer = setTimeout(() => connect(), WAITS[Math.min(tries++, WAITS.length - 1)]);
}

/** Connect, now. @param {Ends} [to] given once */
export function connect(to) {
  ends ??= to ?? null;
  if (socket) return;
  clearTimeout(timer);
  timer = setTimeout(drop, PATIENCE);
  const made = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/socket`);
  socket = made;
  made.binaryType = "arraybuffer";
  made.addEventListener("open", () => {
    clearTimeout(timer);
    tries = 0;
    ends?.opened();
  });
  made.addEventListener("message", event => {
    heard = performance.now();
    if (typeof event.data === "string") ends?.take(JSON.parse(event.data)); else ends?.takeLight(event.data);
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
addEventListener("online", () => connect());
