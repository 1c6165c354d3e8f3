// Beside the house: the edge that was touched, amps of every supply, what was found, light the house.
import { h, patch } from "./dom.js";
import { said } from "./head.js";
import { clock, frameNow, jump, onFrame } from "./light.js";
import { chosenCue, choose, composing, Panel, state, wide } from "./store.js";
import { ask } from "./socket.js";
import { control } from "./control.js";

/** Bars that follow the frame on show, by hand: they change at every frame. */
class Amps extends HTMLElement {
  connectedCallback() {
    this.last = 0;
    onFrame(frame => this.show(frame));
    this.show(frameNow());
  }

  /** @param {import("./stretch.js").Frame | null} frame */
  show(frame) {
    const now = performance.now(), house = state.session?.house;
    if (!house || !this.isConnected || (clock.playing && now - (this.last ?? 0) < 100)) return;
    this.last = now;
    const most = state.findings?.most_amps ?? [];
    const bars = house.budgets.slice(0, house.supplies).map((b, i) => {
      const amps = frame?.amps[i] ?? 0, limit = b.amps, top = Math.max(limit ?? 0, most[i] ?? 0, amps) * 1.15 || 1;
      const part = (/** @type {number} */ v) => `${Math.min(100 * v / top, 100).toFixed(1)}%`;
      return h("div", { key: b.name, class: "supply" },
        h("span", { class: "name" }, b.name),
        h("span", { class: "bar", style: { "--at": part(amps), "--most": part(most[i] ?? 0), "--budget": part(limit ?? top) } },
          h("i", { class: "at" }), h("i", { class: "most" }), limit !== null && h("i", { class: "budget" })),
        h("span", { class: "number" }, limit === null ? `${amps.toFixed(2)} A, no limit` : `${amps.toFixed(2)} A of ${limit.toFixed(2)} A`));
    });
    const full = frame && house.budgets[frame.full];
    const words = !frame ? "" : frame.gain < 0.995
      ? `Dimmed to ${Math.round(frame.gain * 100)} %: ${full?.kind} ${full?.name} gives no more.`
      : `Fullest: ${full?.kind} ${full?.name}, ${Math.round(frame.load * 100)} %.`;
    patch(this, [h("div", { class: "supplies" }, bars), h("p", { class: frame && frame.gain < 0.995 ? "dimmed" : "quiet" }, words)]);
  }
}

function findings() {
  const f = state.findings, show = state.show;
  if (!f || !show) return null;
  /** @type {import("./dom.js").MaybeKid[]} */
  const rows = f.flashing.map((x, i) => h("li", { key: `f${i}` }, h("button", {
    type: "button", class: "finding", onclick: () => jump(Math.round(x.start * show.fps)),
  }, h("b", null, "Flashing "), x.sentence)));
  if (f.lowest_gain < 0.995) rows.push(h("li", { key: "dim" }, h("b", null, "Dimmed "),
    `${Math.round(f.dimmed_share * 100)} % of the show, down to ${Math.round(f.lowest_gain * 100)} %`, f.binding && `: ${f.binding}`));
  for (const x of f.hidden) rows.push(h("li", { key: x.path.join(".") }, h("button", {
    type: "button", class: "finding", onclick: () => choose({ cue: Number(x.path[1] ?? 0), layer: Number(x.path[3] ?? 0), word: "" }),
  }, h("b", null, "Not seen "), x.sentence)));
  for (const [i, note] of show.notes.entries()) rows.push(h("li", { key: `n${i}` }, note));
  return h("section", { key: "findings", "aria-label": "Findings" }, h("h2", null, "Found"),
    rows.length ? h("ul", { class: "found" }, rows)
      : h("p", { class: "quiet" }, f.complete ? "Nothing flashes, nothing is dimmed, every layer is seen." : "Looking through the show …"));
}

function lightTheHouse() {
  const light = state.light, on = light?.state === "on" || light?.state === "waiting";
  return h("section", { key: "light", "aria-label": "Light the house" },
    h("div", { class: "row" }, h("button", {
      type: "button", class: "light", "aria-pressed": on, onclick: () => ask("light", { type: "light", on: !on, file: on ? null : state.file }),
    }, on ? "Let go of the house" : "Light the house"),
    state.session?.local && h("button", { type: "button", onclick: () => ask("invite", { type: "invite", rights: "evening" }) }, "Let a phone in"),
    h("button", { type: "button", key: "find", "aria-expanded": Boolean(state.finding), onclick: () => choose({ finding: state.finding ? "" : "network" }) }, "Find controllers")),
    state.finding && controllers(), light?.sentence && h("p", { class: "quiet", role: "status" }, light.sentence), said("light"), said("invite"), invitation());
}

/** Which controllers the network has that the person names. */
function controllers() {
  const known = state.session?.networks ?? [], found = state.controllers, asked = state.finding === "asked";
  return h("div", { key: "controllers", class: "controllers" }, h("form", {
    class: "row", onsubmit: (/** @type {any} */ e) => {
      e.preventDefault();
      state.controllers = null;
      choose({ finding: "asked" });
      ask("find", { type: "find", network: e.target.elements[0].value.trim() || "-" });
    },
  }, h("label", { class: "pick" }, h("span", null, "Your home network"), h("input", { type: "text", class: "title", maxlength: 40, "aria-label": "Your home network", placeholder: known[0] ?? "192.168.1.0/24" })),
  known.slice(0, 3).map(n => h("button", { key: n, type: "button", class: "chip", onclick: (/** @type {any} */ e) => { e.target.form.elements[0].value = n; } }, n)),
  h("button", { disabled: asked }, "Look")),
  h("p", { class: "quiet", role: "status" }, asked ? "Waiting three seconds for answers …" : found?.sentence ?? "Controllers that speak Art-Net answer. Only the network that you name is asked."), said("find"),
  found && found.found.length > 0 && h("ul", { class: "found" }, found.found.map(c => h("li", { key: c.address }, h("b", null, c.name), ` at ${c.address}. To light the house by it, start the desk with `, h("code", null, `--to ${c.to}`), "."))));
}

function invitation() {
  const made = state.invitation;
  if (!made) return null;
  const size = made.qr.length;
  const dots = made.qr.flatMap((row, y) => [...row].map((dot, x) => dot === "1" ? `M${x} ${y}h1v1h-1z` : "")).join("");
  return h("div", { class: "invitation" }, h("svg", { viewBox: `0 0 ${size} ${size}`, role: "img", "aria-label": "QR code of the address" },
    h("rect", { width: size, height: size, fill: "#fff" }), h("path", { d: dots, fill: "#000" })),
  h("p", null, made.sentence), h("p", { class: "code" }, made.code),
  h("button", { type: "button", onclick: () => choose({ invitation: null }) }, "Done"));
}

class Beside extends Panel {
  view() {
    if (!composing()) return null;
    const layer = chosenCue()?.layers[state.layer], open = wide.matches && layer && state.word;
    // The hand's control stands beside the house, under the amps, so that all three are seen at once.
    return [
      h("section", { key: "amps", "aria-label": "Amps" }, !open && h("h2", null, "Amps"), h("lm-amps", null)),
      open ? h("section", { key: "open", class: "open", "aria-label": state.word }, control(layer, state.layer)) : [findings(), lightTheHouse()],
    ];
  }
}

customElements.define("lm-amps", Amps);
customElements.define("lm-beside", Beside);
