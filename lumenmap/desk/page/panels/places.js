// Where a layer lies: edges, parts, kinds and groups of the house.
import { h } from "./dom.js";
import { said } from "./head.js";
import { state } from "./store.js";
import { put } from "./socket.js";

const WORDS = { group: "Groups", kind: "Kinds of edge", mass: "Parts of the house", edge: "Edges", line: "Data lines" };

/** Light a place with the chosen layer, or take it away. @param {string} name */
export function onPlace(name) {
  const on = state.show?.cues[state.cue]?.layers[state.layer]?.on ?? [];
  const all = !on.length || on.includes("all");
  const rest = all ? [name] : on.includes(name) ? on.filter(o => o !== name) : [...on, name];
  const path = ["cue", state.cue, "layer", state.layer, "on"];
  put(path, rest.length ? rest : null, "Where it lies", { draft: rest, key: path.join(".") });
}

/** The places as buttons that are on or off. */
export function places() {
  const found = state.session?.house?.places ?? [], path = ["cue", state.cue, "layer", state.layer, "on"];
  const on = /** @type {string[]} */ (state.drafts.get(path.join(".")) ?? state.show?.cues[state.cue]?.layers[state.layer]?.on ?? []);
  return h("div", { key: "places" },
    h("p", { class: "quiet" }, "Touch edges on the picture, or choose here."),
    h("div", { class: "chips" }, h("button", {
      type: "button", class: "chip", "aria-pressed": !on.length || on.includes("all"), onclick: () => put(path, null, "The whole house"),
    }, "the whole house")),
    Object.entries(WORDS).map(([what, word]) => {
      const here = found.filter(p => p.what === what);
      return here.length && h("fieldset", { key: what }, h("legend", null, word), h("div", { class: "chips" }, here.map(p => h("button", {
        key: p.name, type: "button", class: "chip", "aria-pressed": on.includes(p.name), onclick: () => onPlace(p.name),
      }, p.name, h("span", { class: "quiet" }, ` ${p.pixels}`)))));
    }), said(path.join(".")));
}
