// One ruler of time: seconds, beats if the show has a tempo, cues as bars, the playhead.
import { h, patch } from "./dom.js";
import { said } from "./head.js";
import { clock, jump, onFrame, play } from "./light.js";
import { choose, composing, Panel, state } from "./store.js";
import { edit } from "./socket.js";

/** @param {number} v */
export const seconds = v => `${Number(v.toFixed(2))} s`;

/** Rows of bars, so that cues that overlap don't hide each other. @param {import("./wire").Cue[]} cues */
function rowsOf(cues) {
  /** @type {number[]} */
  const ends = [];
  return cues.map(c => {
    let row = ends.findIndex(end => end <= c.start + 1e-6);
    if (row < 0) row = ends.length;
    ends[row] = c.start + c.length;
    return row;
  });
}

/** A step between ticks that leaves room to read. @param {number} total */
function tickStep(total) {
  return [0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600].find(s => total / s <= 14) ?? 1200;
}

/** @param {number} cue @param {Record<string, number>} values @param {string} gesture */
export function timeCue(cue, values, gesture) {
  for (const [name, value] of Object.entries(values)) state.drafts.set(`cue.${cue}.${name}`, value);
  edit(`cue.${cue}`, "Time of the cue", show => Object.entries(values).map(([name, value]) => ({
    op: "set", path: ["cue", cue, name], new: seconds(value),
    old: /** @type {any} */ (show.data.cue)?.[cue]?.[name] ?? null,
  })), { gesture, done: () => { for (const name of Object.keys(values)) state.drafts.delete(`cue.${cue}.${name}`); } });
}

/** @param {number} n @param {import("./wire").Cue} c */
function timesOf(n, c) {
  const d = state.drafts;
  return { start: /** @type {number} */ (d.get(`cue.${n}.start`) ?? c.start), length: /** @type {number} */ (d.get(`cue.${n}.length`) ?? c.length) };
}

/** Drag a bar, or its end. @param {PointerEvent} event @param {number} n @param {boolean} end */
function drag(event, n, end) {
  const show = state.show, bar = /** @type {HTMLElement} */ (event.currentTarget), track = bar.closest(".bars");
  if (!show || !track) return;
  const total = show.frames / show.fps, scale = total / track.getBoundingClientRect().width;
  const { start, length } = timesOf(n, show.cues[n]), from = event.clientX, gesture = `cue ${n} ${Date.now()}`;
  event.stopPropagation();
  choose({ cue: n, layer: state.cue === n ? state.layer : 0, word: "" });
  bar.setPointerCapture(event.pointerId);
  bar.onpointermove = move => {
    const by = Math.round((move.clientX - from) * scale * 10) / 10;
    if (Math.abs(move.clientX - from) < 4) return;
    if (end) timeCue(n, { length: Math.max(0.2, Math.min(length + by, total - start)) }, gesture);
    else timeCue(n, { start: Math.max(0, Math.min(start + by, total - 0.2)), length: Math.min(length, total - Math.max(0, start + by)) }, gesture);
  };
  bar.onpointerup = bar.onpointercancel = () => { bar.onpointermove = null; };
}

/** Walk a bar by keys. @param {KeyboardEvent} event @param {number} n */
function key(event, n) {
  const show = state.show, step = { ArrowRight: 0.5, ArrowLeft: -0.5 }[event.key];
  if (!show || !step) return;
  event.preventDefault();
  const total = show.frames / show.fps, { start, length } = timesOf(n, show.cues[n]);
  if (event.shiftKey) timeCue(n, { length: Math.max(0.5, Math.min(length + step, total - start)) }, `keys ${n}`);
  else timeCue(n, { start: Math.max(0, Math.min(start + step, total - length)) }, `keys ${n}`);
}

function addCue() {
  const show = state.show;
  if (!show) return;
  const total = show.frames / show.fps, at = clock.at / show.fps;
  // A new cue begins where the playhead was put; while it moves, or at the very start: half-way.
  const start = Math.round((clock.playing || at < 0.5 || at > total - 1 ? total / 2 : at) * 2) / 2, n = show.cues.length;
  const palette = show.cues[n - 1]?.layers[0]?.palette ?? "candlelight";
  edit("cues", "A cue", () => [{ op: "insert", path: ["cue", n], new: {
    name: `part ${n + 1}`, start: seconds(start), length: seconds(total - start), fade_in: seconds(Math.min(1, (total - start) / 4)),
    layer: [{ effect: "still", palette }],
  } }], { done: () => { choose({ cue: n, layer: 0, word: "effect" }); jump(start * show.fps + show.fps); } });
}

function removeCue() {
  const n = state.cue;
  edit("cues", "Cue taken out", show => [{ op: "remove", path: ["cue", n], old: /** @type {any} */ (show.data.cue)[n] }],
    { done: () => choose({ cue: Math.max(0, n - 1), layer: 0, word: "" }) });
}

class Ruler extends Panel {
  connectedCallback() {
    super.connectedCallback();
    onFrame(() => this.head());
  }

  /** The playhead moves at every frame, without drawing the panel. */
  head() {
    const show = state.show, line = /** @type {HTMLElement | null} */ (this.querySelector(".playhead"));
    if (!show || !line) return;
    const at = Math.floor(clock.at), time = `${(at / show.fps).toFixed(1)} s of ${seconds(show.frames / show.fps)}`;
    line.style.left = `${100 * at / show.frames}%`;
    const scrub = /** @type {any} */ (this.querySelector(".scrub")), words = this.querySelector("output");
    scrub.value = at;
    scrub.setAttribute("aria-valuetext", time);
    if (words) patch(words, [time]);
  }

  view() {
    const show = state.show;
    if (!show || !composing()) return null;
    const total = show.frames / show.fps, rows = rowsOf(show.cues), step = tickStep(total);
    const percent = (/** @type {number} */ v) => `${(100 * v / total).toFixed(3)}%`;
    const ticks = Array.from({ length: Math.floor(total / step) + 1 }, (_, i) => i * step).filter(v => v < total * 0.985);
    return h("section", { "aria-label": "Time", class: "ruler" },
      h("div", { class: "row" },
        h("button", { type: "button", class: "play", onclick: () => { play(!clock.playing); choose({}); } }, clock.playing ? "Pause" : "Play"),
        h("output", { class: "clock" }),
        show.tempo && h("span", { class: "quiet" }, `${show.tempo} beats a minute`), h("span", { class: "space" }),
        h("button", { type: "button", onclick: addCue }, "Add a cue"),
        show.cues.length > 1 && h("button", { type: "button", onclick: removeCue }, "Take this cue out")),
      h("div", { class: "track" },
        h("div", { class: "ticks", "aria-hidden": "true" }, ticks.map(v => h("span", { key: String(v), style: { left: percent(v) } }, `${v}`))),
        h("input", {
          type: "range", class: "scrub", min: 0, max: show.frames - 1, step: 1, "aria-label": "Playhead",
          oninput: (/** @type {any} */ e) => { play(false); jump(Number(e.target.value)); choose({}); },
        }),
        h("div", { class: "bars", role: "group", "aria-label": "Cues: arrows move the chosen one, with Shift its end", style: { "--rows": String(Math.max(...rows, 0) + 1) } },
          show.cues.map((c, n) => {
            const { start, length } = timesOf(n, c);
            return h("button", {
              key: String(n), type: "button", class: "cue", "aria-pressed": n === state.cue,
              "aria-label": `${c.name || `cue ${n + 1}`}, from ${seconds(start)} for ${seconds(length)}`,
              style: { left: percent(start), width: percent(Math.min(length, total - start)), "--row": String(rows[n]) },
              onclick: () => { if (state.cue !== n) choose({ cue: n, layer: 0, word: "" }); },
              onpointerdown: (/** @type {PointerEvent} */ e) => drag(e, n, e.offsetX > /** @type {HTMLElement} */ (e.currentTarget).clientWidth - 14),
              onkeydown: (/** @type {KeyboardEvent} */ e) => key(e, n),
            }, h("span", null, c.name || `cue ${n + 1}`));
          }), h("i", { class: "playhead" }))),
      said("cues"), show.cues.map((_, n) => said(`cue.${n}`)));
  }
}

customElements.define("lm-ruler", Ruler);
