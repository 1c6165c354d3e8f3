// What belongs to the show as a whole: its settings, its values, groups of places and routes.
import { h } from "./dom.js";
import { said } from "./head.js";
import { named } from "./naming.js";
import { form } from "./option.js";
import { placeChips } from "./places.js";
import { routes } from "./routes.js";
import { fieldOf } from "./slider.js";
import { bring, choose, composing, Panel, state } from "./store.js";
import { edit, put } from "./socket.js";

/** @typedef {"settings" | "values" | "groups" | "routes"} Part */

const WORDS = { settings: "Settings", values: "Values", groups: "Groups", routes: "Routes" };

/** The show's own table of a name. @param {string} name @returns {Record<string, any>} */
const table = name => /** @type {any} */ (state.show?.data[name]) ?? {};

function settings() {
  const show = state.show, tables = state.session?.tables;
  if (!show || !tables) return null;
  return h("div", { key: "forms", class: "forms" },
    form(tables.show, show.values.show, ["show"]),
    h("h2", { key: "limit" }, "How it is dimmed to what supplies and wires can carry"), form(tables.limit, show.values.limit, ["limit"]));
}

/** @param {string} name @param {number} now */
function value(name, now) {
  const key = `values.${name}`, draft = state.drafts.get(key), shown = typeof draft === "number" ? draft : now;
  const option = /** @type {import("./wire").Option} */ ({ unit: "", low: null, high: null, default: now, whole: false });
  const give = (/** @type {number} */ v, /** @type {string} */ gesture) => { if (Number.isFinite(v)) put(["values", name], v, `Value ${name}`, { gesture, draft: v }); };
  return h("div", { key: name, class: "field" }, h("h3", null, name),
    h("div", { class: "row" }, fieldOf(option, shown, name, key, give),
      h("button", { type: "button", key: "out", "aria-label": `Take the value ${name} out`, onclick: () => put(["values", name], null, `Value ${name} taken out`) }, "×")), said(key));
}

function values() {
  return [
    h("p", { class: "quiet" }, "Numbers by name. Any number of the show may follow one, and an almanac may give another for an evening: candles = 3."),
    Object.entries(table("values")).map(([name, now]) => value(name, now)),
    named("A new value's name", name => edit("values", `Value ${name}`, () => [{ op: "set", path: ["values", name], old: null, new: 1 }])), said("values"),
  ];
}

/** A group's places, and those that don't belong to it. @param {any} group @returns {[string[], string[]]} */
const partsOf = group => Array.isArray(group) ? [group, []] : [group?.of ?? [], group?.except ?? []];

/** Have a place in a group, or not. @param {string} name of the group @param {string} place @param {0 | 1} part */
export function toGroup(name, place, part = 0) {
  put(["group", name], (/** @type {any} */ group) => {
    const parts = partsOf(group), list = parts[part];
    parts[part] = list.includes(place) ? list.filter(p => p !== place) : [...list, place];
    return parts[1].length ? { of: parts[0], except: parts[1] } : parts[0];
  }, `Group ${name}`);
}

function groups() {
  const own = table("group"), name = own[state.named] ? state.named : Object.keys(own)[0] ?? "", [of, except] = partsOf(own[name]);
  const first = state.edge || state.session?.house?.edges[0]?.name;
  return [
    h("p", { class: "quiet" }, "Places under a name of your own: layers lie on it, or leave it alone."),
    h("div", { class: "chips" }, Object.keys(own).map(g => h("button", { key: g, type: "button", class: "chip", "aria-pressed": g === name, onclick: () => choose({ named: g }) }, g))),
    named("A new group's name", made => edit("groups", `Group ${made}`, () => [{ op: "set", path: ["group", made], old: null, new: [first] }], { done: () => choose({ named: made }) })),
    said("groups"), said(`group.${name}`),
    name && h("div", { key: `group ${name}` },
      h("h3", null, `${name}: these belong to it`), h("p", { class: "quiet" }, of.length ? "Touch edges on the picture, or choose here." : "None is chosen, so the whole house belongs to it."), placeChips(of, p => toGroup(name, p), name),
      h("h3", null, "but not these"), placeChips(except, p => toGroup(name, p, 1), name, "But not"),
      h("button", { type: "button", onclick: () => put(["group", name], null, `Group ${name} taken out`) }, `Take the group ${name} out`)),
  ];
}

class Own extends Panel {
  view() {
    if (!composing() || !state.show) return null;
    const inner = { settings, values, groups, routes, "": () => null }[state.own];
    return h("section", { "aria-label": "This show", class: "own" }, h("h2", null, "This show"),
      h("div", { class: "row" }, Object.entries(WORDS).map(([word, text]) => h("button", {
        key: word, type: "button", "aria-expanded": state.own === word, onclick: () => {
          choose({ own: state.own === word ? "" : /** @type {Part} */ (word), named: "" });
          // What is folded out lies below the fold of a laptop's window: the words that lead to it go up.
          if (state.own) bring(".own [aria-expanded=true]", "start");
        },
      }, text))),
      state.own && h("div", { key: state.own, class: "fold" }, inner()));
  }
}

customElements.define("lm-own", Own);
