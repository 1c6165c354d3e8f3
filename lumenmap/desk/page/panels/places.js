// Places of the house as buttons that are on or off: where a layer lies, what it leaves alone, what
// belongs to a group.
import { h } from "./dom.js";
import { said } from "./head.js";
import { state } from "./store.js";
import { put } from "./socket.js";

const WORDS = { group: "Groups", route: "Routes", kind: "Kinds of edge", mass: "Parts of the house", edge: "Edges", line: "Data lines" };

/** All names that a layer can lie on, the show's own first. */
export const allPlaces = () => {
  const own = state.show?.places ?? [], taken = new Set(own.map(p => p.name));
  return [...own, ...(state.session?.house?.places ?? []).filter(p => !taken.has(p.name))];
};

/** @param {"on" | "except"} word */
function listOf(word) {
  const layer = state.show?.cues[state.cue]?.layers[state.layer], draft = state.drafts.get(["cue", state.cue, "layer", state.layer, word].join("."));
  return /** @type {string[]} */ (draft ?? (word === "on" ? layer?.on : layer?.without) ?? []);
}

/** Light a place with the chosen layer, or take it away. @param {string} name @param {"on" | "except"} [word] */
export function onPlace(name, word = "on") {
  const on = listOf(word), all = word === "on" && (!on.length || on.includes("all"));
  const rest = all ? [name] : on.includes(name) ? on.filter(o => o !== name) : [...on, name];
  const path = ["cue", state.cue, "layer", state.layer, word];
  put(path, rest.length ? rest : null, word === "on" ? "Where it lies" : "Where it doesn't lie", { draft: rest });
}

/**
 * Chips of all places. @param {string[]} on @param {(name: string) => void} onclick @param {string} [without] a place that can't be chosen
 * @param {string} [label] said of each chip, where there are two sets of them
 */
export function placeChips(on, onclick, without = "", label = "") {
  return Object.entries(WORDS).map(([what, word]) => {
    const here = allPlaces().filter(p => p.what === what && p.name !== without);
    return here.length > 0 && h("fieldset", { key: what }, h("legend", null, word), h("div", { class: "chips" }, here.map(p => h("button", {
      key: p.name, type: "button", class: "chip", "aria-pressed": on.includes(p.name), "aria-label": label ? `${label} ${p.name}` : null, onclick: () => onclick(p.name),
    }, p.name, h("span", { class: "quiet" }, ` ${p.pixels}`)))));
  });
}

/** The places of a layer. @param {"on" | "except"} word */
export function places(word) {
  const path = ["cue", state.cue, "layer", state.layer, word], on = listOf(word);
  return h("div", { key: `places ${word}` },
    h("p", { class: "help" }, word === "on" ? "Where it lies" : "Places that it leaves alone"),
    h("p", { class: "quiet" }, "Touch edges on the picture, or choose here. Groups and routes are made below, under This show."),
    h("div", { class: "chips" }, h("button", {
      type: "button", class: "chip", "aria-pressed": !on.length || (word === "on" && on.includes("all")), onclick: () => put(path, null, word === "on" ? "The whole house" : "No place left out"),
    }, word === "on" ? "the whole house" : "none")),
    placeChips(on, name => onPlace(name, word)), said(path.join(".")));
}
