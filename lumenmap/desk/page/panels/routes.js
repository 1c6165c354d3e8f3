// The show's own routes: edges in order, each run from either end, added by touch on the picture.
import { h } from "./dom.js";
import { said } from "./head.js";
import { named } from "./naming.js";
import { optionControl } from "./option.js";
import { choose, state } from "./store.js";
import { edit, put } from "./socket.js";

/** @typedef {{ name: string, edges: "round" | any[], closed?: boolean, gaps?: boolean }} Route */

/** @returns {Route[]} */
const all = () => /** @type {any} */ (state.show?.data.route) ?? [];
const chosen = () => Math.max(all().findIndex(r => r.name === state.named), 0);

/** What an item of the list is called. @param {any} item */
const nameOf = item => typeof item === "string" ? item.replace(/ reversed$/, "").trim() : item.edge;
/** @param {any} item */
const isReversed = item => typeof item === "string" ? / reversed$/.test(item) : item.reversed === true;

/** The same edge, run from the other end. @param {any} item */
const turned = item => typeof item === "string" ? `${nameOf(item)}${isReversed(item) ? "" : " reversed"}` : { ...item, reversed: !isReversed(item) };

/** Change a route's edges. @param {number} n @param {(edges: any[]) => any[]} make from those there are @param {string} label */
const give = (n, make, label) => put(["route", n, "edges"], (/** @type {any} */ edges) => make(Array.isArray(edges) ? edges : []), label);

/** Go on along an edge; or no more, if the route has it. @param {string} edge */
export function toRoute(edge) {
  const n = chosen(), route = all()[n];
  if (!route) return;
  give(n, edges => {
    if (!edges.some(e => nameOf(e) === edge)) return [...edges, edge];
    return edges.length > 1 ? edges.filter(e => nameOf(e) !== edge) : edges;
  }, `Edges of ${route.name}`);
}

/** @param {any[]} edges @param {number} i @param {number} by */
function moved(edges, i, by) {
  const made = [...edges];
  made.splice(i + by, 0, ...made.splice(i, 1));
  return made;
}

/** @param {number} n @param {Route} route */
function edgesOf(n, route) {
  if (route.edges === "round") return h("p", { key: "round" }, "All edges with pixels, as one walks round the house. Choose an edge below to name them one by one.");
  const edges = route.edges, label = `Edges of ${route.name}`;
  return h("ol", { key: "edges", class: "steps" }, edges.map((item, i) => h("li", { key: `${nameOf(item)}` },
    h("span", null, `${i + 1}. ${nameOf(item)}`, isReversed(item) && h("span", { class: "quiet" }, " from its end")),
    h("span", { class: "tools" },
      i > 0 && h("button", { type: "button", key: "up", "aria-label": `${nameOf(item)} one earlier`, onclick: () => give(n, own => moved(own, i, -1), label) }, "↑"),
      h("button", { type: "button", key: "turn", "aria-pressed": isReversed(item), "aria-label": `${nameOf(item)} from its end`, onclick: () => give(n, own => own.map((e, k) => k === i ? turned(e) : e), label) }, "⇄"),
      edges.length > 1 && h("button", { type: "button", key: "out", "aria-label": `Take ${nameOf(item)} out`, onclick: () => give(n, own => own.filter((_, k) => k !== i), label) }, "×")))));
}

/** The panel. */
export function routes() {
  const list = all(), n = chosen(), route = list[n], edges = state.session?.house?.edges ?? [];
  const add = (/** @type {string} */ name) => edit("routes", `Route ${name}`, show => [{
    op: "insert", path: ["route", /** @type {any} */ (show.data.route ?? []).length], new: { name, edges: [state.edge || edges[0]?.name] },
  }], { done: () => choose({ named: name }) });
  const remove = () => edit("routes", `Route ${route.name} taken out`, show => [{ op: "remove", path: ["route", n], old: /** @type {any} */ (show.data.route)[n] }]);
  const on = new Set(route && route.edges !== "round" ? route.edges.map(nameOf) : []);
  return [
    h("p", { class: "quiet" }, "Ways along the roofline: an effect's way may go along one, and a layer may lie on it."),
    h("div", { class: "chips" }, list.map(r => h("button", { key: r.name, type: "button", class: "chip", "aria-pressed": r === route, onclick: () => choose({ named: r.name }) }, r.name))),
    named("A new route's name", add), said("routes"),
    route && h("div", { key: `route ${route.name}` },
      h("h3", null, `${route.name}, in order`), edgesOf(n, route), said(`route.${n}.edges`),
      h("p", { class: "quiet" }, "Touch edges on the picture to go on, or choose here."),
      h("div", { class: "chips" }, edges.map(e => h("button", { key: e.name, type: "button", class: "chip", "aria-pressed": on.has(e.name), onclick: () => toRoute(e.name) }, e.name))),
      (state.session?.tables.route ?? []).map(o => optionControl(o, undefined, ["route", n, o.name])),
      h("button", { type: "button", onclick: remove }, `Take the route ${route.name} out`)),
  ];
}
