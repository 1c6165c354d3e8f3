// The line to the server: connects, and connects again once it is broken, or dead.
import { changed, state } from "./store.js";

/** Waits before it tries again (ms), the last one for good. */
const WAITS = [300, 1000, 2000, 4000];
/** So long an answer may take (ms) until the desk is asked whether it is there, and it may take to say so. */
const PATIENCE = 5000;
/** A desk that is there, but hasn't said a word over the line for so long (ms), doesn't hear it either. */
const LONGEST = 20_000;

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

/** What was sent has an answer in some time; or else the line is dead, though nobody has hung up. */
export function expect() {
  const since = performance.now();
  clearTimeout(patience);
  patience = setTimeout(() => void doubt(since), PATIENCE);
}

/** Nothing has come, perhaps: a desk that is busy still answers whether it is there. @param {number} since */
async function doubt(since) {
  const unheard = () => ends?.waits() && heard < since, asked = patience;
  if (unheard() && (performance.now() - since > LONGEST || !await there()) && unheard()) return drop();
  if (patience !== asked || !ends?.waits()) return; // something newer is waited for, or nothing
  if (heard >= since) expect(); else patience = setTimeout(() => void doubt(since), PATIENCE);
}

/** @returns {Promise<number>} what the desk answers, 0 if it doesn't */
async function there() {
  try {
    return (await fetch("/", { cache: "no-store", signal: AbortSignal.timeout(PATIENCE) })).status;
  } catch {
    return 0;
  }
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
  if (await there() === 401) state.link = "unpaired";
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
