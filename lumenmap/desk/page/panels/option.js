// The control of one option or key, whichever table it stands in: a slider with its unit and range,
// words to choose from, yes or no, a line of text; or a ramp, where the option may be one.
import { h } from "./dom.js";
import { said } from "./head.js";
import { ramp, startRamp } from "./ramp.js";
import { fieldOf, written } from "./slider.js";
import { get, state } from "./store.js";
import { put } from "./socket.js";

/** @typedef {import("./wire").Option} Option */
/** @typedef {import("./wire").Value} Value */
/** @typedef {import("./store.js").Path} Path */

/** @param {Option} option */
export const labelOf = option => option.help || option.name.replaceAll("_", " ");

/** The name of the show's value that stands for a number: {days}. @param {any} raw */
const valueIn = raw => typeof raw === "string" ? /^\{\s*([A-Za-z_]\w*)\s*\}$/.exec(raw)?.[1] ?? "" : "";

/** Let one of the show's values stand for the number. @param {Option} option @param {Path} path @param {any} raw @param {number} now */
function follow(option, path, raw, now) {
  const names = Object.keys(/** @type {any} */ (state.show?.data.values) ?? {}), chosen = valueIn(raw);
  return names.length > 0 && h("label", { key: "follow", class: "pick" }, h("span", null, "Follows"), h("select", {
    value: chosen, "aria-label": `${labelOf(option)}: follows a value of the show`,
    onchange: (/** @type {any} */ e) => put(path, e.target.value ? `{${e.target.value}}` : written(option, now), `${option.name} follows a value`),
  }, h("option", { key: "", value: "" }, "nothing"), names.map(n => h("option", { key: n, value: n }, n))));
}

/** @param {Option} option @param {Value | undefined} value @param {Path} path */
function number(option, value, path) {
  const key = path.join("."), draft = state.drafts.get(key), raw = get(state.show?.data, path);
  const parsed = typeof draft === "number" ? draft : typeof draft === "string" ? Number.parseFloat(draft) : NaN;
  const now = Number.isFinite(parsed) ? parsed : value?.number ?? option.default ?? Math.max(option.low ?? 0, 0);
  const give = (/** @type {number} */ v, /** @type {string} */ gesture) => {
    const made = written(option, v);
    if (Number.isFinite(v)) put(path, made, `${option.name.replaceAll("_", " ")}`, { gesture, draft: made });
  };
  return [
    h("div", { class: "row" }, fieldOf(option, now, labelOf(option), key, give),
      h("button", { type: "button", key: "usual", onclick: () => put(path, null, `${option.name} as usual`) }, "As usual")),
    h("div", { class: "row" },
      option.choices.map(w => h("button", { key: w, type: "button", class: "chip", "aria-pressed": value?.text === w, onclick: () => put(path, w, option.name) }, w)),
      option.varies && h("button", { key: "vary", type: "button", onclick: () => startRamp(option, now, path) }, "Change over time"),
      follow(option, path, raw, now)),
    h("p", { class: "quiet" }, valueIn(raw) ? `It follows the show's value ${valueIn(raw)}: ${value?.text ?? ""}.`
      : `${option.expected || "any number"}; usual: ${option.default_text}.`),
  ];
}

/**
 * One word out of some.
 * @param {Option} option @param {string} now @param {Path} path @param {string[]} choices
 */
function words(option, now, path, choices) {
  const key = path.join("."), about = (/** @type {string} */ w) => state.session?.ways[w] ?? "";
  const chosen = state.drafts.get(key) ?? now, label = labelOf(option);
  return [
    h("div", { class: "chips", role: "group", "aria-label": label }, choices.map(w => h("button", {
      key: w, type: "button", class: "chip", "aria-pressed": w === chosen, title: about(w) || null, onclick: () => put(path, w, label, { draft: w }),
    }, w)), h("button", { key: "", type: "button", class: "chip", onclick: () => put(path, null, label) }, "as usual")),
    about(now) && h("p", { class: "quiet" }, about(now)),
  ];
}

/** Ways along the house: words, the routes there are, and from each of its corners. @param {Option} option @param {string} now @param {Path} path */
function way(option, now, path) {
  const own = /** @type {any[]} */ (state.show?.data.route ?? []).map(r => String(r.name));
  const routes = [...new Set([...own, ...(state.session?.routes ?? [])])].map(n => `along ${n}`);
  const from = now.startsWith("from ") ? now.slice(5) : "";
  return [
    words(option, now, path, [...option.choices, ...routes]),
    h("label", { key: "from", class: "pick" }, h("span", null, "or from"), h("select", {
      value: from, "aria-label": "From a corner of the house",
      onchange: (/** @type {any} */ e) => put(path, e.target.value ? `from ${e.target.value}` : null, labelOf(option)),
    }, h("option", { key: "", value: "" }, "no corner"), (state.session?.corners ?? []).map(c => h("option", { key: c, value: c }, c)))),
    h("p", { class: "quiet" }, "Routes are made below, under This show."),
  ];
}

/** @param {Option} option @param {string} now @param {Path} path */
function text(option, now, path) {
  const label = labelOf(option);
  return [h("label", null, h("span", { class: "quiet" }, option.expected), h("input", {
    type: "text", class: "wide", maxlength: 300, value: now, "aria-label": label, onchange: (/** @type {any} */ e) => put(path, e.target.value || null, label),
  }))];
}

/** @param {Option} option @param {string} now @param {Path} path */
function flag(option, now, path) {
  const on = (state.drafts.get(path.join(".")) ?? now === "true") === true, label = labelOf(option);
  return [h("div", { class: "chips", role: "group", "aria-label": label }, [true, false].map(w => h("button", {
    key: String(w), type: "button", class: "chip", "aria-pressed": on === w, onclick: () => put(path, w, label, { draft: w }),
  }, w ? "yes" : "no")), h("button", { key: "", type: "button", class: "chip", onclick: () => put(path, null, label) }, "as usual"))];
}

/** Which control the option has. @param {Option} option @param {Value | undefined} value @param {Path} path */
function inner(option, value, path) {
  const raw = get(state.show?.data, path), now = value?.text || String(raw ?? option.default_text);
  const draft = state.drafts.get(path.join("."));
  if (option.varies && (draft?.points || (draft === undefined && value?.ramp))) return ramp(option, value, path);
  if (option.kind === "envelope") return [h("button", { type: "button", onclick: () => startRamp(option, 1, path) }, "Change over time")];
  if (option.kind === "way") return way(option, now, path);
  if (option.kind === "choice") return words(option, now, path, option.choices);
  if (option.kind === "corner") return words(option, now, path, state.session?.corners ?? []);
  if (option.kind === "flag") return flag(option, now, path);
  if (["text", "word", "picture"].includes(option.kind)) return text(option, value?.text ?? String(raw ?? ""), path);
  return number(option, value, path);
}

/** @param {Option} option @param {Value | undefined} value @param {Path} path */
export function optionControl(option, value, path) {
  const key = path.join(".");
  return h("div", { key, class: "control" }, h("p", { class: "help" }, labelOf(option)), inner(option, value, path), said(key));
}

/** All options of a table, one below the other. @param {Option[]} options @param {Value[]} values @param {Path} path */
export function form(options, values, path) {
  return options.map(o => h("section", { key: o.name, class: "field", "aria-label": o.name.replaceAll("_", " ") },
    h("h3", null, o.name.replaceAll("_", " ")), optionControl(o, values.find(v => v.name === o.name), [...path, o.name])));
}
