// The control of one word of a layer: its effect, palette and places; an option of the effect; a key
// that every layer has; how its places take turns.
import { h } from "./dom.js";
import { said } from "./head.js";
import { form, optionControl } from "./option.js";
import { places } from "./places.js";
import { palettes } from "./palette.js";
import { choose, state } from "./store.js";
import { edit, put } from "./socket.js";

/** @typedef {import("./wire").Layer} Layer */

/** @param {string} name */
const pathOf = name => ["cue", state.cue, "layer", state.layer, name];

/** @param {Layer} layer */
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

/** @param {Layer} layer */
function turns(layer) {
  const path = pathOf("turns"), key = path.join("."), label = "Its places take turns";
  const begin = () => put(path, { every: "1 s", ...(layer.on.length < 2 && { parts: "edges" }) }, label);
  if (!layer.turns.length) return h("div", { key }, h("p", { class: "help" }, label), h("p", { class: "quiet" },
    layer.on.length < 2 ? "Its edges are lit one after the other." : "The places that it lies on are lit one after the other."),
  h("button", { type: "button", onclick: begin }, "Take turns"), said(key));
  return h("div", { key }, h("p", { class: "help" }, label), h("button", { type: "button", onclick: () => put(path, null, "No turns") }, "No turns"), said(key),
    form(state.session?.tables.turns ?? [], layer.turns, path));
}

/** What else a layer may have. @param {Layer} layer */
function more(layer) {
  const own = /** @type {any} */ (state.show?.data.cue)?.[state.cue]?.layer?.[state.layer] ?? {};
  const rest = (state.session?.tables.layer ?? []).filter(o => !(o.name in own) && !["opacity", "blend"].includes(o.name));
  const rows = rest.map(o => [o.name, o.help]);
  if (!("turns" in own)) rows.unshift(["turns", "Its places take turns"]);
  if (!("except" in own)) rows.unshift(["except", "Places that it leaves alone"]);
  return h("div", { key: "more" }, h("p", { class: "help" }, "What else it may do"), h("div", { class: "cards" }, rows.map(([name, help]) => h("button", {
    key: name, type: "button", class: "card", onclick: () => choose({ word: name }),
  }, h("b", null, name.replaceAll("_", " ")), h("span", { class: "quiet" }, help)))), layer.turns.length > 0 && h("p", { class: "quiet" }, "Turns are set."));
}

function done() {
  /** @type {HTMLElement | null} */ (document.querySelector(".word[aria-expanded=true]"))?.focus({ preventScroll: true });
  choose({ word: "", mixing: "" });
}

/** The control of the open word. @param {Layer} layer @param {number} n */
export function control(layer, n) {
  const session = state.session, word = state.word;
  const close = h("button", { key: "close", type: "button", class: "close", onclick: done }, "Done");
  if (!session || n !== state.layer) return null;
  if (word === "effect") return [close, effects(layer)];
  if (word === "palette") return [close, palettes(layer)];
  if (word === "on" || word === "except") return [close, places(word)];
  if (word === "turns") return [close, turns(layer)];
  if (word === "more") return [close, more(layer)];
  const option = session.effects.find(e => e.name === layer.effect)?.options.find(o => o.name === word) ?? session.tables.layer.find(o => o.name === word);
  const value = layer.values.find(v => v.name === word) ?? layer.keys.find(v => v.name === word);
  return option ? [close, optionControl(option, value, pathOf(option.name))] : null;
}
