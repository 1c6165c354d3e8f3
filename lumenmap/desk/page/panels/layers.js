// The chosen cue, and its layers as sentences; each bold word opens its control right below.
import { h } from "./dom.js";
import { control } from "./control.js";
import { said } from "./head.js";
import { form } from "./option.js";
import { chosenCue, choose, composing, paletteOf, Panel, state, wide } from "./store.js";
import { edit } from "./socket.js";
import { seconds, timeCue } from "./ruler.js";
import "./palette.js";

/** @param {number} layer @param {string} word @param {string} text @param {string} label @param {string} [kind] */
function bold(layer, word, text, label, kind = "") {
  const on = state.layer === layer && state.word === word;
  return h("button", {
    key: word, type: "button", class: `word ${kind}`, "aria-expanded": on, "aria-label": `${label}: ${text}`,
    onclick: () => choose({ layer, word: on ? "" : word, mixing: "" }),
  }, text);
}

/** @param {string} name */
function strip(name) {
  const colours = paletteOf(name)?.strip ?? [];
  return h("i", { class: "strip", "aria-hidden": "true", style: { background: colours.length ? `linear-gradient(90deg, ${colours.join(", ")})` : "none" } });
}

/** @param {import("./wire").Layer} layer */
const where = layer => layer.on.length ? layer.on.join(", ") : "the whole house";

/** What of a layer's keys is always said, and how. @type {Record<string, (v: import("./wire").Value) => string>} */
const ALWAYS = { opacity: v => v.number === null ? v.text : `${Math.round(v.number * 100)} %`, blend: v => v.text };

/** @param {import("./wire").Layer} layer @param {number} n */
function sentence(layer, n) {
  const effect = state.session?.effects.find(e => e.name === layer.effect), keys = state.session?.tables.layer ?? [];
  const own = /** @type {any} */ (state.show?.data.cue)?.[state.cue]?.layer?.[n] ?? {};
  return h("div", { class: "sentence" },
    bold(n, "effect", layer.effect, "Effect"), " in ", strip(layer.palette), bold(n, "palette", layer.palette, "Palette"), " on ",
    bold(n, "on", where(layer), "Places"),
    layer.without.length > 0 && [" but not ", bold(n, "except", layer.without.join(", "), "Left alone")],
    h("span", { key: "pixels", class: "quiet" }, ` ${layer.pixels} ${layer.pixels === 1 ? "pixel" : "pixels"}`),
    layer.values.map(v => {
      const option = effect?.options.find(o => o.name === v.name);
      return option && phrase(n, option, shownText(v, n), v.name in own ? "" : "usual");
    }),
    layer.keys.map(v => {
      const option = keys.find(o => o.name === v.name), always = ALWAYS[v.name];
      if (!option || (!always && !(v.name in own))) return null;
      return phrase(n, option, shownText({ ...v, text: always ? always(v) : v.text }, n), v.name in own ? "" : "usual");
    }),
    layer.turns.length > 0 && h("span", { key: "o turns", class: "option" }, ", ", bold(n, "turns", `takes turns, every ${layer.turns.find(v => v.name === "every")?.text ?? ""}`, "Its places take turns")),
    h("span", { key: "o more", class: "option" }, ", ", bold(n, "more", "more …", `More of layer ${n + 1}`, "usual")));
}

/** @param {number} n @param {import("./wire").Option} option @param {string} text @param {string} kind */
function phrase(n, option, text, kind) {
  return h("span", { key: `o ${option.name}`, class: "option" }, `, ${option.name.replaceAll("_", " ")} `, bold(n, option.name, text, option.help || option.name, kind));
}

/** @param {import("./wire").Value} value @param {number} n */
function shownText(value, n) {
  const draft = state.drafts.get(["cue", state.cue, "layer", n, value.name].join("."));
  return draft === undefined || draft === null || typeof draft === "object" ? value.text || "by itself" : String(draft);
}

/** @param {number} n */
function remove(n) {
  const cue = state.cue;
  edit("layers", "Layer taken out", show => [{ op: "remove", path: ["cue", cue, "layer", n], old: /** @type {any} */ (show.data.cue)[cue].layer[n] }],
    { done: () => choose({ layer: 0, word: "" }) });
}

function add() {
  const cue = state.cue, n = chosenCue()?.layers.length ?? 0, palette = chosenCue()?.layers[0]?.palette ?? "candlelight";
  const known = state.session?.effects ?? [], effect = (known.find(e => e.name === "glint") ?? known[0])?.name;
  edit("layers", "A layer", () => [{ op: "insert", path: ["cue", cue, "layer", n], new: { effect, palette, blend: "screen" } }],
    { done: () => choose({ layer: n, word: "effect" }) });
}

/** @param {number} n @param {number} by */
function move(n, by) {
  const cue = state.cue;
  edit("layers", "Order of layers", () => [{ op: "move", path: ["cue", cue, "layer", n], to: n + by }], { done: () => choose({ layer: n + by }) });
}

/** @param {import("./wire").Cue} cue */
function times(cue) {
  const n = state.cue, total = state.show ? state.show.frames / state.show.fps : 0;
  const field = (/** @type {string} */ word, /** @type {"start" | "length" | "fade_in" | "fade_out"} */ name, /** @type {number} */ top) => h("label", { key: name, class: "time" }, `${word} `,
    h("input", {
      type: "number", min: 0, max: Number(top.toFixed(2)), step: 0.1, value: Number((state.drafts.get(`cue.${n}.${name}`) ?? cue[name]).toFixed(2)),
      onchange: (/** @type {any} */ e) => timeCue(n, { [name]: Number(e.target.value) }, ""),
    }), " s");
  return h("div", { class: "row times" },
    h("label", { class: "time" }, "Cue ", h("input", {
      type: "text", class: "title", maxlength: 60, value: cue.name,
      onchange: (/** @type {any} */ e) => edit("layers", "Name of the cue", show => [{ op: "set", path: ["cue", n, "name"], old: /** @type {any} */ (show.data.cue)[n]?.name ?? null, new: e.target.value || null }]),
    })),
    h("button", { type: "button", key: "fades", "aria-expanded": state.fades, onclick: () => choose({ fades: !state.fades }) }, "How it fades"),
    field("begins at", "start", total), field("lasts", "length", total), field("fades in over", "fade_in", cue.length), field("out over", "fade_out", cue.length));
}

class Layers extends Panel {
  view() {
    const cue = chosenCue();
    if (!composing() || !cue) return null;
    return h("section", { "aria-label": `Cue ${cue.name}`, class: "layers" },
      times(cue), state.fades && h("div", { key: "fade keys", class: "fold" }, form(state.session?.tables.cue ?? [], [], ["cue", state.cue])),
      h("ol", null, cue.layers.map((layer, n) => h("li", { key: String(n), class: n === state.layer ? "layer chosen" : "layer" },
        h("div", { class: "line" }, sentence(layer, n),
          h("span", { class: "tools" },
            cue.layers.length > 1 && n > 0 && h("button", { type: "button", key: "down", "aria-label": `Layer ${n + 1} one down`, title: "One down: layers above cover it", onclick: () => move(n, -1) }, "↑"),
            cue.layers.length > 1 && h("button", { type: "button", key: "out", "aria-label": `Take layer ${n + 1} out`, title: "Take it out", onclick: () => remove(n) }, "×"))),
        !wide.matches && n === state.layer && state.word && h("div", { key: "open", class: "open" }, control(layer, n))))),
      h("button", { type: "button", onclick: add }, "Add a layer"), said("layers"),
      h("p", { class: "quiet" }, `Later layers lie on top. The cue plays from ${seconds(cue.start)} to ${seconds(cue.start + cue.length)}.`));
  }
}

customElements.define("lm-layers", Layers);
