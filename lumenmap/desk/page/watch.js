// The page of "preview --watch" and "try --watch": plays one show, and shows each save at once.
import { makePicture } from "./draw.js";
import { readStretch } from "./stretch.js";

/** @param {string} id @returns {any} */
const $ = id => document.getElementById(id);
/** @type {import("./wire").Session | null} */
let session = null;
/** @type {import("./wire").Show | null} */
let show = null;
/** @type {import("./wire").Findings | null} */
let findings = null;
/** @type {Awaited<ReturnType<typeof makePicture>> | null} */
let picture = null;
/** @type {string} */
let pictured = "";
/** @type {Map<number, import("./stretch.js").Frame>} */
const frames = new Map();
let version = 0, at = 0, before = 0, playing = true, told = 0;
/** @type {WebSocket} */
let socket;

const flashes = () => Boolean(findings && findings.flashing.length && !findings.allowed);

/** @param {object} message */
const send = message => { if (socket.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message)); };

function look() {
  if (session && show) send({ type: "look", file: session.watch, frame: Math.floor(at), playing });
}

/** @param {import("./wire").Session} found */
async function meet(found) {
  session = found;
  send({ type: "open", file: found.watch });
  if (found.house && found.house.picture !== pictured) {
    pictured = found.house.picture;
    const data = await (await fetch(pictured)).json();
    picture = await makePicture(data, $("picture"));
    draw();
  }
}

/** @param {import("./wire").ServerMessage} message */
function take(message) {
  if (message.type === "session") void meet(message);
  else if (message.type === "show") {
    show = message;
    document.title = message.title;
    $("title").textContent = message.title;
    $("scrub").max = message.frames - 1;
    $("state").textContent = message.version > 1 ? `Saved at ${new Date().toLocaleTimeString()}.` : "Waiting for a save.";
  } else if (message.type === "findings") {
    findings = message;
    $("ask").hidden = !flashes();
    if (flashes()) draw();
  } else if (message.type === "problems") {
    $("problems").replaceChildren(...message.problems.map(p => {
      const line = document.createElement("li");
      line.textContent = `${p.file}: ${p.sentence}${p.line ? ` (line ${p.line})` : ""}`;
      return line;
    }));
  } else if (message.type === "refused") $("state").textContent = message.sentence;
}

/** @param {ArrayBuffer} data */
async function light(data) {
  const stretch = await readStretch(data);
  if (stretch.version < version) return;
  if (stretch.version > version) {
    version = stretch.version;
    // Until the new light of a frame has come, the old one is shown.
    for (const frame of frames.values()) frame.old = true;
  }
  for (const [i, frame] of stretch.frames.entries()) frames.set(stretch.first + i, frame);
  if (!playing) draw();
}

function draw() {
  if (!show || !picture) return;
  const frame = frames.get(Math.floor(at) % show.frames);
  if (!frame) return;
  picture.draw(flashes() ? null : picture.lightOf(frame.codes));
  const seconds = Math.floor(at) / show.fps;
  $("scrub").value = Math.floor(at);
  $("clock").textContent = `${seconds.toFixed(1)} s of ${(show.frames / show.fps).toFixed(1)} s`;
  const budgets = session?.house?.budgets ?? [];
  const amps = [...frame.amps].map((a, i) => `${budgets[i].name}: ${a.toFixed(2)} A of ${budgets[i].amps?.toFixed(2) ?? "?"} A`);
  $("amps").textContent = amps.join(" · ") + (frame.gain < 1 ? ` · dimmed to ${Math.round(frame.gain * 100)} %` : "");
}

/** @param {number} now */
function step(now) {
  if (playing && show && !flashes() && frames.size) {
    at = (at + Math.min(now - before, 250) / 1000 * show.fps) % show.frames;
    draw();
  }
  before = now;
  if (now - told > 1000) { told = now; look(); }
  requestAnimationFrame(step);
}

function connect() {
  socket = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/socket`);
  socket.binaryType = "arraybuffer";
  socket.addEventListener("open", () => { version = 0; });
  socket.addEventListener("message", event => {
    if (typeof event.data === "string") take(JSON.parse(event.data)); else void light(event.data);
  });
  socket.addEventListener("close", () => {
    $("state").textContent = "lumenmap has ended; this page goes on when it runs again.";
    setTimeout(connect, 1000);
  });
}

$("play").addEventListener("click", () => {
  playing = !playing;
  $("play").setAttribute("aria-pressed", String(playing));
  $("play").textContent = playing ? "Pause" : "Play";
  look();
});
$("scrub").addEventListener("input", () => { at = Number($("scrub").value); look(); draw(); });
$("show").addEventListener("click", () => { if (session) send({ type: "allow_flashing", file: session.watch, allow: true }); });
if (matchMedia("(prefers-reduced-motion: reduce)").matches) $("play").click();
connect();
requestAnimationFrame(step);
