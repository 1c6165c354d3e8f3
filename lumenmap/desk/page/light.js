// The light under the hand: frames as they come, the playhead, and who wants to know of it.
import { readStretch } from "./stretch.js";
import { chosenCue, composing, flashes, onChange, state } from "./store.js";

/** @typedef {import("./stretch.js").Frame} Frame */

/** The playhead, in frames. */
export const clock = { at: 0, playing: !matchMedia("(prefers-reduced-motion: reduce)").matches };
/** @type {Map<number, Frame>} */
let frames = new Map();
let version = 0, number = 0, before = 0, told = 0, fresh = true;
/** @type {Set<(frame: Frame | null) => void>} */
const watchers = new Set();
/** @type {(message: object) => void} */
let send = () => {};

/** @param {(frame: Frame | null) => void} watch called when another frame is to be shown */
export function onFrame(watch) {
  watchers.add(watch);
}

/** @param {ArrayBuffer} data */
export async function takeLight(data) {
  const stretch = await readStretch(data);
  if (stretch.show !== number) {
    // Light of a show that isn't looked at any more is of no use.
    if (!state.show || stretch.show !== state.show.number) return;
    number = stretch.show;
    version = 0;
    frames = new Map();
  }
  if (stretch.version < version) return;
  if (stretch.version > version) {
    version = stretch.version;
    // Until the new light of a frame has come, the old one is shown.
    for (const frame of frames.values()) frame.old = true;
  }
  for (const [i, frame] of stretch.frames.entries()) frames.set(stretch.first + i, frame);
  fresh = true;
}

/** Forget what an earlier run of the server sent: its versions begin anew. */
export function forget() {
  number = version = 0;
}

/** The frame at the playhead; none while the picture has to stay dark. */
export function frameNow() {
  return flashes() ? null : frames.get(Math.floor(clock.at)) ?? null;
}

function look() {
  const show = state.show;
  if (show) send({ type: "look", file: show.file, frame: Math.floor(clock.at), playing: clock.playing });
}

/** @param {number} frame */
export function jump(frame) {
  const show = state.show;
  if (!show) return;
  clock.at = Math.min(Math.max(frame, 0), show.frames - 1);
  fresh = true;
  look();
}

/** @param {boolean} playing */
export function play(playing) {
  clock.playing = playing;
  fresh = true;
  look();
}

/** What is played round and round: all, or the cue that a control is open for. @param {import("./wire").Show} show */
function round(show) {
  const cue = state.word && composing() ? chosenCue() : null;
  if (!cue) return [0, show.frames];
  const first = Math.min(Math.round(cue.start * show.fps), show.frames - 1);
  return [first, Math.min(Math.max(Math.round((cue.start + cue.length) * show.fps), first + 1), show.frames)];
}

/** @param {number} now */
function step(now) {
  requestAnimationFrame(step);
  const show = state.show;
  if (now - told > 1000) { told = now; look(); }
  const whole = Math.floor(clock.at);
  if (show && clock.playing && frames.size) {
    const [first, end] = round(show);
    clock.at += Math.min(now - before, 250) / 1000 * show.fps;
    if (clock.at >= end || clock.at < first) clock.at = first;
  }
  before = now;
  if (!fresh && Math.floor(clock.at) === whole) return;
  fresh = false;
  const frame = frameNow();
  for (const watch of watchers) watch(frame);
}

/** @param {(message: object) => void} sender */
export function begin(sender) {
  send = sender;
  let file = "";
  onChange(() => {
    if (state.show && state.show.file !== file) {
      file = state.show.file;
      clock.at = 0;
    }
    if (state.show && clock.at >= state.show.frames) clock.at = 0;
    fresh = true;
  });
  requestAnimationFrame(step);
}
