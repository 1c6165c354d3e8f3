// The control of one word of a layer: a slider with its unit and range, words to choose from, a list.
import { h } from "./dom.js";
import { said } from "./head.js";
import { places } from "./places.js";
import { palettes } from "./palette.js";
import { choose, state } from "./store.js";
import { edit, put } from "./socket.js";

/** Slider positions. */
const STEPS = 200;
let gestures = 0;

/** @param {string} name */
const pathOf = name => ["cue", state.cue, "layer", state.layer, name];

/** A number that reads well, and still moves with every step. @param {number} v @param {number} step */
const tidy = (v, step) => Number(v.toFixed(Math.min(Math.max(0, Math.ceil(-Math.log10(step / 2))), 6)));

/**
 * From a slider's position to a number and back; ranges over several powers of ten go by powers.
 * @param {number} low @param {number} high
 */
function scaleOf(low, high) {
  if (low > 0 && high / low > 50) {
    const k = Math.log(high / low);
    return {
      /** @param {number} p */ value: p => { const v = low * Math.exp(k * p / STEPS); return Math.min(high, Math.max(low, Number(v.toPrecision(3)))); },
      /** @param {number} v */ place: v => STEPS * Math.log(Math.max(v, low) / low) / k,
    };
  }
  return {
    /** @param {number} p */ value: p => tidy(low + (high - low) * p / STEPS, (high - low) / STEPS),
    /** @param {number} v */ place: v => STEPS * (v - low) / (high - low),
  };
}

/** @param {import("./wire").Option} option @param {number} v */
function written(option, v) {
  const n = option.whole ? Math.round(v) : v;
  return option.unit ? `${n} ${option.unit}` : n;
}

/** @param {import("./wire").Option} option @param {import("./wire").Value | undefined} value */
function number(option, value) {
  const path = pathOf(option.name), key = path.join("."), draft = state.drafts.get(key);
  const parsed = typeof draft === "number" ? draft : typeof draft === "string" ? Number.parseFloat(draft) : NaN;
  const now = Number.isFinite(parsed) ? parsed : value?.number ?? option.default ?? option.low ?? 0;
  const low = option.low ?? Math.min(0, now), bound = option.high ?? Math.max(10, 4 * Math.abs(now));
  // A slider over the whole of a wide range can't be aimed: it covers what is usual, the field all of it.
  const around = Math.max(Math.abs(option.default ?? now), Math.abs(now), 1e-3) * 10;
  const wide = low <= 0 && bound > 2 * around, top = wide ? around : bound, bottom = low < -2 * around ? -around : low;
  const scale = scaleOf(bottom, top), label = option.help || option.name;
  const give = (/** @type {number} */ v, /** @type {string} */ gesture) => {
    if (!Number.isFinite(v)) return;
    put(path, written(option, v), `${option.name} of a layer`, { gesture, draft: written(option, v) });
  };
  return h("div", { key }, h("p", { class: "help" }, label),
    h("div", { class: "row" },
      h("input", {
        type: "range", min: 0, max: STEPS, step: 1, value: Math.round(scale.place(now)), "aria-label": label,
        "aria-valuetext": `${now} ${option.unit}`, onpointerdown: () => { gestures++; },
        oninput: (/** @type {any} */ e) => give(scale.value(Number(e.target.value)), `${key} ${gestures}`),
      }),
      h("label", { class: "number" }, h("input", {
        type: "number", step: option.whole ? 1 : "any", min: option.low, max: option.high, value: now, "aria-label": `${label}, ${option.unit}`,
        onchange: (/** @type {any} */ e) => give(Number(e.target.value), ""),
      }), ` ${option.unit}`),
      h("button", { type: "button", onclick: () => put(path, null, `${option.name} as usual`) }, "As usual")),
    h("p", { class: "quiet" }, `${option.expected || "any number"}; usual: ${option.default_text}.`), said(key));
}

/**
 * One word out of some.
 * @param {string} name @param {string} label @param {string[]} words @param {string} now
 * @param {(word: string) => string} [about] @param {boolean} [usual] whether it may be left out
 */
function words(name, label, words, now, about = () => "", usual = true) {
  const path = pathOf(name), key = path.join(".");
  return h("div", { key }, h("p", { class: "help" }, label), h("div", { class: "chips", role: "group", "aria-label": label }, words.map(w => h("button", {
    key: w, type: "button", class: "chip", "aria-pressed": w === (state.drafts.get(key) ?? now), title: about(w) || null,
    onclick: () => put(path, w, label, { draft: w }),
  }, w)), usual && h("button", { key: "", type: "button", class: "chip", onclick: () => put(path, null, label) }, "as usual")),
  about(now) && h("p", { class: "quiet" }, about(now)), said(key));
}

/** @param {string} name @param {string} label @param {string} now @param {string} expected */
function text(name, label, now, expected) {
  const path = pathOf(name), key = path.join(".");
  return h("div", { key }, h("label", null, h("span", { class: "help" }, label), h("input", {
    type: "text", maxlength: 200, value: now, onchange: (/** @type {any} */ e) => put(path, e.target.value || null, label),
  })), h("p", { class: "quiet" }, expected), said(key));
}

/** @param {import("./wire").Layer} layer */
function effects(layer) {
  const known = state.session?.effects ?? [], cue = state.cue, n = state.layer, key = pathOf("effect").join(".");
  const take = (/** @type {import("./wire").Effect} */ effect) => edit(key, `Effect ${effect.name}`, show => {
    const own = /** @type {any} */ (show.data.cue)[cue].layer[n], path = ["cue", cue, "layer", n];
    const before = known.find(e => e.name === own.effect)?.options.map(o => o.name) ?? [];
    const after = new Set(effect.options.map(o => o.name));
    // Options that the new effect hasn't got would be mistakes in the file.
    const gone = before.filter(o => o in own && !after.has(o)).map(o => ({ op: "set", path: [...path, o], old: own[o], new: null }));
    return own.effect === effect.name ? [] : [...gone, { op: "set", path: [...path, "effect"], old: own.effect, new: effect.name }];
  });
  return h("div", { key }, h("div", { class: "cards" }, known.map(e => h("button", {
    key: e.name, type: "button", class: "card", "aria-pressed": e.name === layer.effect, onclick: () => take(e),
  }, h("b", null, e.name), h("span", { class: "quiet" }, e.summary)))), said(key));
}

const opacity = { name: "opacity", kind: "share", help: "How much of the layer is seen", expected: "0 to 1", unit: "", low: 0, high: 1, default: 1, default_text: "1", whole: false, choices: [] };

/** The control of the open word. @param {import("./wire").Layer} layer @param {number} n */
export function control(layer, n) {
  const session = state.session, word = state.word;
  const close = h("button", { key: "close", type: "button", class: "close", onclick: () => choose({ word: "", mixing: "" }) }, "Done");
  if (!session || n !== state.layer) return null;
  if (word === "effect") return [close, effects(layer)];
  if (word === "palette") return [close, palettes(layer)];
  if (word === "on") return [close, places()];
  if (word === "blend") return [close, words("blend", "How it lies on what is below", session.blends, layer.blend)];
  if (word === "opacity") return [close, number(opacity, { name: "opacity", number: layer.opacity, text: "" })];
  const option = session.effects.find(e => e.name === layer.effect)?.options.find(o => o.name === word);
  const value = layer.values.find(v => v.name === word);
  if (!option) return null;
  const label = option.help || option.name;
  if (option.choices.length) return [close, words(option.name, label, option.choices, value?.text ?? "", w => session.ways[w] ?? "")];
  if (option.kind === "corner") return [close, words(option.name, label, session.corners, value?.text ?? "")];
  if (option.kind === "word" || option.kind === "picture") return [close, text(option.name, label, value?.text ?? "", option.expected)];
  return [close, number(option, value)];
}
