// The playing page: playback with its clock, keys, sound, links to moments, and pixels under a finger.
import { makePicture } from "./draw.js";
import { clock, makeTimeline } from "./timeline.js";

/** @template {HTMLElement} T @param {string} id @returns {T} */
const $ = id => /** @type {T} */ (document.getElementById(id));
const D = JSON.parse($("data").textContent ?? "");
const N = D.pixels, C = D.channels, T = D.frames;
/** How near to a lamp a finger must be (CSS px). */
const NEAR = 16;
/** @type {Awaited<ReturnType<typeof makePicture>>} */
let picture;
/** @type {(frame: number) => string[]} */
let showTime;
/** The codes, byte for byte as the controller gets them: frame by frame, in the order of each line. @type {Uint8Array} */
let codes;

/** @param {string} text */
const bytes = text => Uint8Array.from(atob(text), c => c.charCodeAt(0));
async function readCodes() {
  const packed = new Blob([bytes(D.codes.data)]).stream().pipeThrough(new DecompressionStream("deflate"));
  const raw = new Uint8Array(await new Response(packed).arrayBuffer()), size = N * C, out = new Uint8Array(T * size);
  if (D.codes.turned) for (let k = 0, i = 0; k < size; k++) for (let t = 0; t < T; t++) out[t * size + k] = raw[i++];
  else out.set(raw);
  if (D.codes.differences) for (let i = size; i < out.length; i++) out[i] = (out[i] + out[i - size]) & 255;
  codes = out;
}

const scrub = /** @type {HTMLInputElement} */ ($("scrub")), speed = /** @type {HTMLSelectElement} */ ($("speed"));
const ask = /** @type {HTMLDialogElement} */ ($("ask")), canvas = /** @type {HTMLCanvasElement} */ ($("picture"));
let at = 0, playing = false, allowed = !D.flashing.length, before = 0, shown = -2;
function show() {
  const frame = Math.min(T - 1, Math.floor(at)), s = frame / D.fps;
  if (frame === shown) return;
  picture.draw(allowed ? picture.lightOf(codes, frame * N * C) : null);
  shown = frame;
  scrub.value = String(frame);
  scrub.setAttribute("aria-valuetext", `${s.toFixed(1)} seconds`);
  $("clock").textContent = `${clock(s)} / ${clock(T / D.fps)}`;
  const text = showTime(frame).join(", ");
  if ($("now").dataset.text !== text) { $("now").dataset.text = text; if (text) $("now").textContent = `Cue: ${text}`; }
}

// While the sound plays, it is the clock; before it begins and after its end, time goes on without it.
/** @type {HTMLAudioElement | null} */
let song = null;
function hear() {
  if (!song) return;
  if (playing && !(at / D.fps >= song.duration)) { song.currentTime = at / D.fps; song.play().catch(() => {}); }
  else song.pause();
}
/** @param {number} now */
function step(now) {
  if (!playing) return;
  const rate = Number(speed.value);
  if (song && song.playbackRate !== rate) song.playbackRate = rate;
  if (song && !song.paused && !song.ended) at = Math.max(0, song.currentTime * D.fps);
  // A frame's timestamp may be a little before the click that started it.
  else at += Math.min(Math.max(now - before, 0), 250) / 1000 * D.fps * rate;
  before = now;
  if (at >= T) { if ($("loop").getAttribute("aria-pressed") === "true") { at %= T; hear(); } else { at = T - 1; play(false); } }
  show();
  if (playing) requestAnimationFrame(step);
}
/** @param {boolean} on */
function play(on) {
  if (on && !allowed) { ask.showModal(); return; }
  playing = on;
  $("play").textContent = on ? "❚❚" : "▶";
  $("play").setAttribute("aria-label", on ? "Pause" : "Play");
  if (on) { if (at >= T - 1) at = 0; before = performance.now(); requestAnimationFrame(step); }
  hear();
}
/** @param {number} frame */
function seek(frame) { at = Math.max(0, Math.min(T - 1, frame)); if (playing) hear(); show(); }

/** A moment in the page's address, as W3C Media Fragments writes it: #t=65.5, or #t=1:05.5. */
function fromAddress() {
  const found = /[#&]t=(?:npt:)?([\d:.]+)/.exec(location.hash);
  const seconds = found ? found[1].split(":").reduce((sum, part) => 60 * sum + Number(part), 0) : NaN;
  if (seconds >= 0) seek(Math.round(seconds * D.fps));
}
async function link() {
  const t = Math.floor(at) / D.fps;
  history.replaceState(null, "", `#t=${Number(t.toFixed(3))}`);
  const done = await navigator.clipboard?.writeText(location.href).then(() => true, () => false);
  $("pixel").textContent = done ? `A link to ${clock(t)} is copied.` : `The page's address now leads to ${clock(t)}.`;
}

/** What is known of a pixel. @param {number} n */
function words(n) {
  const line = D.lines.find((/** @type {{ first: number, count: number }} */ l) => n >= l.first && n < l.first + l.count);
  const [edge, along] = D.where[n];
  return `Line ${line.name}, pixel ${n - line.first + 1}: ${edge < 0 ? "hidden" : `${D.edges[edge]}, ${along}`}`;
}
/** The lamp nearest to a finger, or -1. @param {number} x @param {number} y */
function pixelAt(x, y) {
  const box = canvas.getBoundingClientRect(), scale = box.width / picture.width;
  let best = NEAR ** 2, found = -1;
  for (let n = 0; n < N; n++) {
    if (picture.places[3 * n + 2] <= 0) continue;
    const off = (picture.places[3 * n] * scale - (x - box.left)) ** 2 + (picture.places[3 * n + 1] * scale - (y - box.top)) ** 2;
    if (off < best) { best = off; found = n; }
  }
  return found;
}
/** @param {MouseEvent} e */
function touch(e) {
  const n = pixelAt(e.clientX, e.clientY), mark = $("mark");
  mark.hidden = n < 0;
  $("pixel").textContent = n < 0 ? "" : words(n);
  if (n < 0) { play(!playing); return; }
  const box = canvas.getBoundingClientRect(), around = $("stage").getBoundingClientRect(), scale = box.width / picture.width;
  mark.style.left = `${box.left - around.left + picture.places[3 * n] * scale}px`;
  mark.style.top = `${box.top - around.top + picture.places[3 * n + 1] * scale}px`;
}

/** @param {string} id */
function toggle(id) { const on = $(id).getAttribute("aria-pressed") !== "true"; $(id).setAttribute("aria-pressed", String(on)); return on; }
function full() { if (document.fullscreenElement) void document.exitFullscreen(); else $("stage").requestFullscreen?.().catch(() => {}); }
/** @param {KeyboardEvent} e */
function key(e) {
  if (e.ctrlKey || e.metaKey || e.altKey || ask.open) return;
  const on = /** @type {HTMLElement} */ (e.target), jump = e.shiftKey ? Math.round(D.fps) : 1;
  if (e.key === " " && !on.matches("button, select")) play(!playing);
  else if (e.key === "ArrowLeft" && !on.matches("select")) seek(Math.floor(at) - jump);
  else if (e.key === "ArrowRight" && !on.matches("select")) seek(Math.floor(at) + jump);
  else if (e.key === "Home") seek(0);
  else if (e.key === "End") seek(T - 1);
  else if (e.key.toLowerCase() === "l") $("loop").click();
  else if (e.key.toLowerCase() === "f") full();
  else if (e.key.toLowerCase() === "s" && song) $("sound").click();
  else if ("+=".includes(e.key)) speed.selectedIndex = Math.min(speed.options.length - 1, speed.selectedIndex + 1);
  else if ("-−".includes(e.key)) speed.selectedIndex = Math.max(0, speed.selectedIndex - 1);
  else return;
  e.preventDefault();
}

function head() {
  const on = document.createElement("span");
  document.title = `${D.show}, ${D.house}`;
  $("title").textContent = `${D.show} `; on.textContent = `on ${D.house}`; $("title").append(on);
  canvas.setAttribute("aria-label", `${D.house} at night, playing the show ${D.show}: ${N} pixels`);
  scrub.max = String(T - 1);
  if (D.sound) song = new Audio(URL.createObjectURL(new Blob([bytes(D.sound.data)], { type: D.sound.type })));
  else { $("sound").remove(); $("soundkey").remove(); }
  for (const line of D.flashing) { const li = document.createElement("li"); li.textContent = line; $("found").append(li); }
}
function listen() {
  $("play").addEventListener("click", () => play(!playing));
  canvas.addEventListener("click", touch);
  scrub.addEventListener("input", () => seek(Number(scrub.value)));
  $("loop").addEventListener("click", () => toggle("loop"));
  if (song) $("sound").addEventListener("click", () => { if (song) song.muted = !toggle("sound"); });
  $("link").addEventListener("click", () => void link());
  $("full").addEventListener("click", full);
  document.addEventListener("fullscreenchange", () => { $("full").setAttribute("aria-pressed", String(!!document.fullscreenElement)); $("mark").hidden = true; });
  $("dark").addEventListener("click", () => ask.close());
  $("show").addEventListener("click", () => { allowed = true; shown = -2; ask.close(); show(); play(true); });
  addEventListener("keydown", key);
  addEventListener("hashchange", fromAddress);
}
async function start() {
  head();
  [, picture] = await Promise.all([readCodes(), makePicture(D, canvas)]);
  document.documentElement.style.setProperty("--shape", String(D.width / D.height));
  /** @param {{ amps: string }} b */
  const read = b => ({ ...b, amps: new Uint16Array(bytes(b.amps).buffer) });
  showTime = makeTimeline({ cues: D.cues, budgets: D.budgets.map(read), frames: T, fps: D.fps }, seek);
  show(); fromAddress(); listen();
  // For tests and for curious readers: the exact content of the page.
  Object.assign(window, { lumenmap: {
    ready: true, frames: T, codes: (/** @type {number} */ f) => codes.slice(f * N * C, (f + 1) * N * C),
    light: (/** @type {number} */ f) => Array.from(picture.lightOf(codes, f * N * C)),
    seek, play, words, heard: () => song && song.currentTime, frame: () => Math.floor(at), playing: () => playing,
  } });
}
start().catch(error => { $("title").textContent = `This page needs a newer browser (${error.message})`; });
