// The house at night, live; its edges can be touched, and walked with the arrow keys.
import { makePicture } from "./draw.js";
import { h, patch } from "./dom.js";
import { pictured } from "./dates.js";
import { onFrame } from "./light.js";
import { choose, composing, flashes, onChange, state } from "./store.js";
import { send } from "./line.js";
import { toGroup } from "./own.js";
import { onPlace } from "./places.js";
import { toRoute } from "./routes.js";

/** A touch this near an edge means it (CSS px). */
const NEAR = 30;

/** @param {number} x @param {number} y @param {[number, number]} a @param {[number, number]} b */
function distance(x, y, a, b) {
  const dx = b[0] - a[0], dy = b[1] - a[1], size = dx * dx + dy * dy;
  const t = size ? Math.min(Math.max(((x - a[0]) * dx + (y - a[1]) * dy) / size, 0), 1) : 0;
  return Math.hypot(x - a[0] - t * dx, y - a[1] - t * dy);
}

/** What was touched, and what can be done with it. */
function caption() {
  const found = state.session?.house?.edges.find(e => e.name === state.edge);
  const on = state.show?.cues[state.cue]?.layers[state.layer]?.on ?? [];
  if (!found) return h("p", { class: "quiet" }, "Touch an edge of the house to light it.");
  return [
    h("p", { role: "status" }, h("b", null, found.name), h("span", { class: "quiet" }, ` ${found.length}, ${found.pixels} pixels`)),
    h("div", { class: "row" },
      h("button", { type: "button", onclick: () => onPlace(found.name) }, on.includes(found.name) ? "Take the layer away" : "Put the layer here"),
      h("button", { type: "button", onclick: () => choose({ word: "on" }) }, "All its places")),
  ];
}

/** What a touch on an edge does, by what is open. @param {string} edge @param {boolean} [always] whether it does something in any case */
function give(edge, always = false) {
  if (state.own === "routes") toRoute(edge);
  else if (state.own === "groups") {
    const groups = /** @type {any} */ (state.show?.data.group) ?? {}, name = groups[state.named] ? state.named : Object.keys(groups)[0];
    if (name) toGroup(name, edge);
  } else if (state.word === "except") onPlace(edge, "except");
  else if (state.word === "on" || always) onPlace(edge);
}

class House extends HTMLElement {
  connectedCallback() {
    /** @type {Awaited<ReturnType<typeof makePicture>> | null} */
    this.picture = null;
    this.address = "";
    this.canvas = document.createElement("canvas");
    this.canvas.width = 640;
    this.canvas.height = 360;
    this.canvas.setAttribute("role", "img");
    this.over = document.createElement("div");
    this.over.className = "over";
    this.below = document.createElement("div");
    this.below.className = "edge";
    this.all = document.createElement("div");
    this.all.className = "view";
    this.all.append(this.canvas, this.over);
    this.append(this.all, this.below);
    this.over.addEventListener("click", e => this.touched(e));
    onChange(() => this.changed());
    onFrame(frame => this.light(frame));
    this.changed();
  }

  changed() {
    const house = state.session?.house, show = state.show;
    this.canvas?.setAttribute("aria-label", `${house?.name ?? "The house"} at night, under ${show?.title ?? "no show"}`);
    this.all?.classList.toggle("waits", Boolean(house && !this.picture));
    if (house && house.picture !== this.address) void this.fetched(house.picture);
    if (this.over) patch(this.over, this.edges());
    if (this.below) patch(this.below, composing() ? [caption()] : []);
  }

  /** @param {string} address */
  async fetched(address) {
    this.address = address;
    try {
      const answer = await fetch(address);
      if (!answer.ok) throw new Error(await answer.text());
      const data = await answer.json();
      if (this.canvas) this.picture = await makePicture(data, this.canvas);
      this.picture?.draw(null);
      choose({});
    } catch {
      this.address = ""; // tried again when something changes
    }
  }

  /** @param {import("./stretch.js").Frame | null} frame */
  light(frame) {
    const picture = this.picture, { dark, level } = pictured();
    if (!picture) return;
    if (!frame || dark) {
      // No frame yet: what was shown stays, unless it must be dark.
      if (dark || flashes()) picture.draw(null);
      return;
    }
    if (frame.codes.length < picture.pixels) return;
    const light = picture.lightOf(frame.codes);
    if (level < 1) for (let i = 0; i < light.length; i++) light[i] *= level;
    picture.draw(light);
  }

  /** @param {MouseEvent} event */
  touched(event) {
    const edges = state.session?.house?.edges ?? [], box = this.over?.getBoundingClientRect();
    if (!box || !composing() || !event.isTrusted && !event.clientX) return;
    const x = event.clientX - box.left, y = event.clientY - box.top;
    let best = NEAR, name = "";
    for (const edge of edges) {
      const at = edge.outline.map(([u, v]) => /** @type {[number, number]} */ ([u * box.width, v * box.height]));
      for (let i = 0; i < at.length; i++) {
        const d = distance(x, y, at[i], at[Math.min(i + 1, at.length - 1)]);
        if (d < best) [best, name] = [d, edge.name];
      }
    }
    choose({ edge: name });
    if (name) give(name);
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    const edges = state.session?.house?.edges ?? [], at = edges.findIndex(e => e.name === state.edge);
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (step) choose({ edge: edges[(at + step + edges.length) % edges.length]?.name ?? "" });
    else if ((event.key === "Enter" || event.key === " ") && state.edge) give(state.edge, true);
    else if (event.key === "Escape") choose({ edge: "" });
    else return;
    event.preventDefault();
  }

  edges() {
    const house = state.session?.house;
    if (flashes() && !pictured().dark) return [this.warning()];
    if (!house || !composing()) return [];
    const on = new Set(state.show?.cues[state.cue]?.layers[state.layer]?.on ?? []);
    const lit = (/** @type {import("./wire").Edge} */ e) => on.has(e.name) || on.has(e.kind) || Boolean(e.mass && on.has(e.mass));
    return [h("svg", {
      key: "edges", viewBox: "0 0 640 360", role: "listbox", tabindex: 0, "aria-label": "Edges of the house: arrows walk, Enter lights or takes away",
      "aria-activedescendant": state.edge ? `edge ${state.edge}`.replaceAll(" ", "-") : null,
      onkeydown: (/** @type {KeyboardEvent} */ e) => this.key(e),
    }, house.edges.map(e => h("polyline", {
      key: e.name, id: `edge ${e.name}`.replaceAll(" ", "-"), role: "option", "aria-selected": lit(e),
      "aria-label": `${e.name}, ${e.length}, ${e.pixels} ${e.pixels === 1 ? "pixel" : "pixels"}`,
      class: `${lit(e) ? "lit" : ""} ${e.name === state.edge ? "chosen" : ""}`,
      points: e.outline.map(([u, v]) => `${(u * 640).toFixed(1)},${(v * 360).toFixed(1)}`).join(" "),
    })))];
  }

  warning() {
    const f = state.findings;
    return h("div", { key: "flash", class: "warning", role: "alertdialog", "aria-label": "This show flashes" },
      h("p", null, h("b", null, "This show flashes fast. "), "Flashing can trigger seizures in some people, so the picture stays dark."),
      h("p", { class: "quiet" }, f?.flashing[0]?.sentence ?? ""),
      h("button", { type: "button", onclick: () => send({ type: "allow_flashing", file: state.file, allow: true }) }, "Show it anyway"));
  }
}

customElements.define("lm-house", House);
