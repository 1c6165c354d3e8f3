// Palettes: one out of the list; or mixed, stops on a strip and their colours on a plane.
import { css, fromCode, hex, shown, toCode, toLch, toLinear } from "./colour.js";
import { h } from "./dom.js";
import { said } from "./head.js";
import { onPick, photoAbove, photoButton } from "./photo.js";
import { choose, onChange, paletteOf, state } from "./store.js";
import { ask, edit, put } from "./socket.js";

/** The most chroma on the plane: beyond all sRGB colours. */
const MOST = 0.34;
let gestures = 0;

/** @typedef {{ colour: string, at: number, lch: import("./colour.js").Three }} Stop */

/** @param {string} name @returns {Stop[]} */
function stopsOf(name) {
  const draft = state.drafts.get(`palette.${name}`);
  return draft ?? (paletteOf(name)?.stops ?? []).map(s => ({ colour: s.colour, at: s.at, lch: toLch(s.rgb) }));
}

/** @param {Stop[]} stops */
const written = stops => stops.map(s => ({ colour: s.colour, at: Number(s.at.toFixed(3)) }));

/** @param {string} name @param {Stop[]} stops @param {string} label @param {string} [gesture] */
function give(name, stops, label, gesture = "") {
  put(["palette", name, "stops"], written(stops), label, { gesture, draft: stops, key: `palette.${name}` });
}

/** Give a stop another colour or place. @param {Partial<Stop>} words @param {string} [gesture] */
function change(words, gesture) {
  const name = state.mixing, stops = stopsOf(name).map(s => ({ ...s })), n = Math.min(state.stop, stops.length - 1);
  const made = { ...stops[n], ...words };
  if (words.lch) made.colour = css(words.lch);
  const low = stops[n - 1]?.at ?? 0, high = stops[n + 1]?.at ?? 1;
  made.at = Math.min(Math.max(made.at, low), high);
  stops[n] = made;
  give(name, stops, `Colour of ${name}`, gesture ?? `${name} ${gestures}`);
}

/** Begin to mix: the show's own palette, or an own copy of one of the package. @param {string} name */
function mix(name) {
  const own = state.show?.palettes.some(p => p.name === name), from = paletteOf(name);
  if (!from) {
    state.said.set("mix", "The colours of this layer stand in the file itself. Choose a palette below, then mix it.");
    return choose({});
  }
  if (own) return choose({ mixing: name, stop: 0 });
  let made = `my-${name}`;
  for (let n = 2; paletteOf(made); n++) made = `my-${name}-${n}`;
  const path = ["cue", state.cue, "layer", state.layer, "palette"];
  const table = { stops: written(stopsOf(name)), ...(from.space !== "oklab" && { space: from.space, hue: from.hue }), ...(!from.cyclic && { cyclic: false }), ...(from.steps && { steps: true }) };
  edit("mix", `Palette ${made}`, show => [
    { op: "set", path: ["palette", made], old: null, new: table },
    { op: "set", path, old: /** @type {any} */ (show.data.cue)[state.cue].layer[state.layer].palette ?? null, new: made },
  ], { done: () => choose({ mixing: made, stop: 0 }) });
}

/** Begin to mix the colours of a photo. @param {string[]} colours @param {string} from */
function mixPhoto(colours, from) {
  let made = from;
  for (let n = 2; paletteOf(made); n++) made = `${from}-${n}`;
  const path = ["cue", state.cue, "layer", state.layer, "palette"], stops = colours.map((colour, i) => ({ colour, at: Number((i / colours.length).toFixed(3)) }));
  edit("mix", `Palette ${made}`, show => [
    { op: "set", path: ["palette", made], old: null, new: { stops } },
    { op: "set", path, old: /** @type {any} */ (show.data.cue)[state.cue].layer[state.layer].palette ?? null, new: made },
  ], { done: () => choose({ mixing: made, stop: 0 }) });
}

onPick((rgb, first) => {
  if (first) gestures++;
  if (state.mixing) change({ lch: toLch(/** @type {import("./colour.js").Three} */ (rgb.map(fromCode))) });
});

/** The list, or the mixing of one. @param {import("./wire").Layer} layer */
export function palettes(layer) {
  if (state.mixing) return mixing();
  const path = ["cue", state.cue, "layer", state.layer, "palette"], key = path.join(".");
  const all = [...(state.show?.palettes ?? []), ...(state.session?.palettes ?? [])];
  return h("div", { key: "palettes" },
    h("div", { class: "row" }, h("button", { type: "button", class: "go", onclick: () => mix(layer.palette) }, "Mix its colours"), photoButton(mixPhoto)), said("mix"),
    h("div", { class: "cards" }, all.map(p => h("button", {
      key: `${p.own} ${p.name}`, type: "button", class: "card", "aria-pressed": p.name === layer.palette, onclick: () => put(path, p.name, "Palette", { draft: p.name }),
    }, h("i", { class: "strip long", "aria-hidden": "true", style: { background: `linear-gradient(90deg, ${p.strip.join(", ")})` } }),
    h("b", null, p.name), h("span", { class: "quiet" }, p.own ? "of this show" : p.occasion)))), said(key));
}

/** @param {PointerEvent} event @param {number} n */
function dragStop(event, n) {
  const handle = /** @type {HTMLElement} */ (event.currentTarget), box = handle.parentElement?.getBoundingClientRect();
  if (!box) return;
  gestures++;
  choose({ stop: n });
  handle.setPointerCapture(event.pointerId);
  handle.onpointermove = e => { if (Math.abs(e.clientX - event.clientX) > 3) change({ at: (e.clientX - box.left) / box.width }); };
  handle.onpointerup = handle.onpointercancel = () => { handle.onpointermove = null; };
}

/** @param {KeyboardEvent} event @param {number} n */
function keyStop(event, n) {
  const step = { ArrowRight: 0.01, ArrowLeft: -0.01, ArrowUp: 0.01, ArrowDown: -0.01 }[event.key];
  if (!step) return;
  event.preventDefault();
  choose({ stop: n });
  change({ at: stopsOf(state.mixing)[n].at + step }, `${state.mixing} keys`);
}

function add() {
  const stops = stopsOf(state.mixing).map(s => ({ ...s })), n = Math.min(state.stop, stops.length - 1);
  const here = stops[n], next = stops[n + 1];
  stops.splice(n + 1, 0, { ...here, colour: css(here.lch), at: (here.at + (next?.at ?? 1)) / 2 });
  give(state.mixing, stops, "A colour more");
  choose({ stop: n + 1 });
}

function takeOut() {
  const n = state.stop;
  give(state.mixing, stopsOf(state.mixing).filter((_, i) => i !== n), "A colour less");
  choose({ stop: Math.max(0, n - 1) });
}

function mixing() {
  const name = state.mixing, palette = paletteOf(name), stops = stopsOf(name), n = Math.min(state.stop, stops.length - 1), chosen = stops[n];
  if (!palette || !chosen) return h("p", null, "This palette isn't in the show any more.");
  const [L, C, H] = chosen.lch, can = shown(toLinear(chosen.lch), state.session?.house?.matching ?? [1, 0, 0, 0, 1, 0, 0, 0, 1]);
  const slide = (/** @type {string} */ word, /** @type {number} */ now, /** @type {number} */ top, /** @type {number} */ step, /** @type {(v: number) => import("./colour.js").Three} */ lch) => h("label", { key: word, class: "slide" }, h("span", null, word), h("input", {
    type: "range", min: 0, max: top, step, value: now, onpointerdown: () => { gestures++; },
    oninput: (/** @type {any} */ e) => change({ lch: lch(Number(e.target.value)) }),
  }));
  return h("div", { key: "mixing", class: "mixing" },
    h("p", { class: "help" }, h("b", null, name), palette.cyclic ? ", round and round" : ", from end to end"),
    photoAbove(),
    h("div", { class: "stops", role: "group", "aria-label": "Stops", style: { background: `linear-gradient(90deg, ${palette.strip.join(", ")})` } },
      stops.map((s, i) => h("button", {
        key: String(i), type: "button", class: "stop", role: "slider", "aria-label": `Stop ${i + 1}`, "aria-valuemin": 0, "aria-valuemax": 100, "aria-valuenow": Math.round(s.at * 100), "aria-valuetext": `${Math.round(s.at * 100)} percent, ${s.colour}`,
        "aria-current": i === n, style: { left: `${100 * s.at}%`, "--colour": hex(toLinear(s.lch)) },
        onclick: () => choose({ stop: i }), onpointerdown: (/** @type {any} */ e) => dragStop(e, i), onkeydown: (/** @type {any} */ e) => keyStop(e, i),
      }))),
    h("div", { class: "mixer" }, h("lm-plane", null), h("div", { class: "slides" },
      slide("Lightness", L, 1, 0.005, v => [v, C, H]), slide("Strength", C, MOST, 0.002, v => [L, v, H]), slide("Hue", H, 359, 1, v => [L, C, v]),
      h("p", { class: can ? "quiet" : "said", role: "status" }, can ? "Your LEDs can show this colour." : "Your LEDs can't show this colour; they show the nearest. The lit part of the plane is what they can show."))),
    h("div", { class: "row" }, h("button", { type: "button", onclick: add }, "A colour more"),
      stops.length > 1 && h("button", { type: "button", onclick: takeOut }, "Take this colour out"),
      h("button", { type: "button", onclick: () => ask("check", { type: "check_palette", stops: written(stops), cyclic: palette.cyclic, steps: palette.steps }) }, "Check for eyes and amps")),
    said(`palette.${name}`), said("check"), check());
}

function check() {
  const found = state.checked?.check;
  return found && h("div", { key: "checked", role: "status" }, h("p", { class: "quiet" }, `${(1000 * found.amps).toFixed(1)} mA a pixel on average.`),
    found.findings.length ? h("ul", { class: "found" }, found.findings.map(f => h("li", { key: f }, f))) : h("p", { class: "quiet" }, "All its colours can be shown and told apart."));
}

/** Lightness upward, strength to the right, at the hue of the chosen stop; what can't be shown is dim. */
class Plane extends HTMLElement {
  hue = -1;

  connectedCallback() {
    this.canvas = document.createElement("canvas");
    Object.assign(this.canvas, { width: 96, height: 64 });
    this.dot = document.createElement("i");
    this.setAttribute("aria-hidden", "true"); // the sliders beside it say and do the same
    this.append(this.canvas, this.dot);
    this.onpointerdown = e => {
      gestures++;
      this.setPointerCapture(e.pointerId);
      this.pick(e);
      this.onpointermove = move => this.pick(move);
    };
    this.onpointerup = this.onpointercancel = () => { this.onpointermove = null; };
    onChange(() => this.paint());
    this.paint();
  }

  /** @param {PointerEvent} event */
  pick(event) {
    const box = this.getBoundingClientRect(), stop = stopsOf(state.mixing)[state.stop];
    const part = (/** @type {number} */ v) => Math.min(Math.max(v, 0), 1);
    if (stop) change({ lch: [1 - part((event.clientY - box.top) / box.height), MOST * part((event.clientX - box.left) / box.width), this.hue] });
  }

  paint() {
    const stop = stopsOf(state.mixing)[state.stop], canvas = this.canvas, matching = state.session?.house?.matching;
    if (!this.isConnected || !stop || !canvas || !this.dot || !matching) return;
    this.dot.style.left = `${100 * Math.min(stop.lch[1] / MOST, 1)}%`;
    this.dot.style.top = `${100 * (1 - stop.lch[0])}%`;
    if (Math.abs(this.hue - stop.lch[2]) < 0.5) return;
    // A grey has no hue of its own: the plane stays where it was.
    if (stop.lch[1] > 0.01 || this.hue < 0) this.hue = stop.lch[2];
    const pen = canvas.getContext("2d"), image = new ImageData(canvas.width, canvas.height);
    for (let y = 0; y < canvas.height; y++) for (let x = 0; x < canvas.width; x++) {
      const rgb = toLinear([1 - (y + 0.5) / canvas.height, MOST * (x + 0.5) / canvas.width, this.hue]), can = shown(rgb, matching), at = 4 * (y * canvas.width + x);
      for (let k = 0; k < 3; k++) image.data[at + k] = can ? toCode(rgb[k]) : 22 + toCode(rgb[k]) * 0.1;
      image.data[at + 3] = 255;
    }
    pen?.putImageData(image, 0, 0);
  }
}

customElements.define("lm-plane", Plane);
