// A value that changes over time: its course drawn, its points dragged by finger or keys, and the
// chosen point in numbers. What a person wrote in the file stays where it isn't changed.
import { h } from "./dom.js";
import { STEPS, fieldOf, usualScale, written } from "./slider.js";
import { chosenCue, choose, get, state } from "./store.js";
import { put } from "./socket.js";

/** @typedef {import("./wire").Option} Option */
/** @typedef {import("./store.js").Path} Path */
/** @typedef {{ at: number, to: number, atText?: any, toText?: any }} Point */

const HEIGHT = 116, MARGIN = 26, NEAREST = 0.05;
let gestures = 0;
/** While a point is dragged the scale stays as it was. @type {{ key: string, scale: import("./slider.js").Scale } | null} */
let held = null;

/**
 * The scale of the drawing: what the points need, with room above. @param {Option} option @param {Point[]} points
 * @returns {import("./slider.js").Scale}
 */
function drawnScale(option, points) {
  const all = points.map(p => p.to), least = Math.min(...all), most = Math.max(...all);
  const low = Math.max(Math.min(0, least * 1.25), option.low ?? -Infinity), room = Math.max(most * 1.5, most + 1e-3, low + 1e-3);
  const high = option.low === 0 && option.high === 1 ? 1 : Math.min(room, option.high ?? Infinity), step = (high - low) / STEPS;
  return { value: p => Number(Math.min(Math.max(low + step * p, option.low ?? -Infinity), option.high ?? Infinity).toPrecision(3)), place: v => (v - low) / step };
}

/** @param {number} v */
const seconds = v => `${Number(v.toFixed(3))} s`;

/** The points as the server read them, each with what the file says. @param {any} raw @param {import("./wire").Ramp} told @returns {Point[]} */
function pointsOf(raw, told) {
  const to = [...("from" in raw ? [raw.from] : []), ...[raw.to ?? raw.level].flat()];
  return told.at.map((at, i) => ({ at, to: told.to[i], atText: raw.at?.[i], toText: to[i] }));
}

/** As a file has it. @param {Option} option @param {Point[]} points @param {any} raw @param {import("./wire").Ramp | null} told */
function tableOf(option, points, raw, told) {
  const rest = Object.fromEntries(["easing", "repeat", "even"].filter(k => raw[k]).map(k => [k, raw[k]]));
  const to = points.map(p => p.toText ?? written(option, p.to)), at = points.map(p => p.atText ?? seconds(p.at));
  if (points.length > 2 || Array.isArray(raw.at)) return { at, to, ...rest };
  const kept = told && points.every((p, i) => p.at === told.at[i]) && raw.over !== undefined, after = points[0].at;
  return {
    from: to[0], to: to[1], over: kept ? raw.over : seconds(points[1].at - after),
    ...(kept ? raw.after !== undefined && { after: raw.after } : after > 0 && { after: seconds(after) }), ...rest,
  };
}

/** Make a plain value one that changes, over the whole cue. @param {Option} option @param {number} now @param {Path} path */
export function startRamp(option, now, path) {
  const length = chosenCue()?.length ?? 10, high = option.high ?? Infinity, low = option.low ?? -Infinity;
  const unitary = high === 1 && low === 0;
  const to = unitary ? (now > 0.5 ? 0 : 1) : Math.min(Math.max(now ? 2 * now : option.default || 1, low), high);
  const end = to === now ? Math.max(low, now / 2) : to;
  const table = { from: written(option, now), to: written(option, Number(end.toPrecision(4))), over: seconds(Number(length.toFixed(1))) };
  choose({ point: 1 });
  put(path, table, `${option.name.replaceAll("_", " ")} over time`);
}

/** @param {Option} option @param {import("./wire").Value | undefined} value @param {Path} path */
export function ramp(option, value, path) {
  const key = path.join("."), draft = state.drafts.get(key), told = value?.ramp ?? null;
  const raw = draft?.table ?? get(state.show?.data, path) ?? {};
  const points = /** @type {Point[]} */ (draft?.points ?? (told ? pointsOf(raw, told) : []));
  if (points.length < 2) return [h("p", { class: "quiet" }, "…")];
  const n = Math.min(state.point, points.length - 1), name = option.name.replaceAll("_", " ");
  const scale = usualScale(option, points.map(p => p.to)), total = Math.max(chosenCue()?.length ?? 0, points[points.length - 1].at, 0.1);
  const send = (/** @type {Point[]} */ made, /** @type {any} */ words = {}, gesture = "") => {
    const table = tableOf(option, made, { ...raw, ...words }, told);
    put(path, table, `${name} over time`, { gesture, draft: { table, points: made } });
  };
  /** @param {number} i @param {Partial<Point>} to @param {string} gesture */
  const move = (i, to, gesture) => {
    const made = points.map(p => ({ ...p })), low = i ? made[i - 1].at + NEAREST : 0, high = made[i + 1] ? made[i + 1].at - NEAREST : 1e6;
    if (to.at !== undefined) Object.assign(made[i], { at: Number(Math.min(Math.max(raw.repeat && !i ? 0 : to.at, low), high).toFixed(2)), atText: undefined });
    if (to.to !== undefined) Object.assign(made[i], { to: to.to, toText: undefined });
    send(made, {}, gesture);
  };
  return [
    plot(option, points, n, { scale: held?.key === key ? held.scale : drawnScale(option, points), total, course: draft ? null : told }, move, key),
    h("fieldset", { key: "point", class: "point" }, h("legend", null, `Point ${n + 1} of ${points.length}`),
      h("div", { class: "row" },
        h("label", { key: "at", class: "time" }, "at ", h("input", {
          type: "number", min: 0, step: 0.1, value: Number(points[n].at.toFixed(3)), "aria-label": `Time of point ${n + 1}, s`,
          onchange: (/** @type {any} */ e) => move(n, { at: Number(e.target.value) }, ""),
        }), " s"),
        fieldOf(option, points[n].to, `Value of point ${n + 1}`, `${key} ${n}`, (v, gesture) => { if (Number.isFinite(v)) move(n, { to: v }, gesture); }, scale))),
    h("div", { key: "tools", class: "row" },
      h("button", { type: "button", key: "add", onclick: () => { const at = between(points, n); send(at.points); choose({ point: at.chosen }); } }, "Add a point"),
      points.length > 2 && h("button", { type: "button", key: "out", onclick: () => { send(points.filter((_, i) => i !== n)); choose({ point: Math.max(0, n - 1) }); } }, "Take this point out"),
      h("label", { key: "easing", class: "pick" }, h("span", null, "Easing"), h("select", {
        value: raw.easing ?? "linear", "aria-label": `Easing of ${name}`, onchange: (/** @type {any} */ e) => send(points, { easing: e.target.value === "linear" ? undefined : e.target.value }),
      }, [...new Set([...(state.session?.easings ?? []), raw.easing ?? "linear"])].map(w => h("option", { key: w, value: w }, w)))),
      toggle("Again and again", Boolean(raw.repeat), () => send(raw.repeat ? points : points.map((p, i) => i ? p : { ...p, at: 0, atText: undefined }), { repeat: !raw.repeat })),
      ["share", "envelope"].includes(option.kind) && toggle("Even to the eye", Boolean(raw.even), () => send(points, { even: !raw.even })),
      h("button", { type: "button", key: "one", onclick: () => put(path, option.kind === "envelope" ? null : points[n].toText ?? written(option, points[n].to), `${name} as one value`) },
        option.kind === "envelope" ? "No envelope" : "One value instead")),
    h("p", { key: "hint", class: "quiet" }, `Times count from the cue's start. ${option.expected}.`),
  ];
}

/** @param {string} word @param {boolean} on @param {() => void} onclick */
const toggle = (word, on, onclick) => h("button", { key: word, type: "button", "aria-pressed": on, onclick }, word);

/** One more point, half-way to the next, or to the one before the last. @param {Point[]} points @param {number} n */
function between(points, n) {
  const i = Math.min(n, points.length - 2), a = points[i], b = points[i + 1];
  const made = { at: Number(((a.at + b.at) / 2).toFixed(2)), to: Number(((a.to + b.to) / 2).toPrecision(4)) };
  return { points: [...points.slice(0, i + 1), made, ...points.slice(i + 1)], chosen: i + 1 };
}

/**
 * @param {Option} option @param {Point[]} points @param {number} chosen
 * @param {{ scale: import("./slider.js").Scale, total: number, course: import("./wire").Ramp | null }} view
 * @param {(i: number, to: Partial<Point>, gesture: string) => void} move @param {string} key
 */
function plot(option, points, chosen, view, move, key) {
  const { scale, total, course } = view;
  const x = (/** @type {number} */ t) => 100 * t / total, y = (/** @type {number} */ v) => 100 - Math.min(Math.max(100 * scale.place(v) / STEPS, 0), 100);
  const last = points.length - 1, first = points[0];
  const inside = course ? course.course.map((v, i) => [course.at[0] + (course.at[course.at.length - 1] - course.at[0]) * i / (course.course.length - 1), v]) : points.map(p => [p.at, p.to]);
  const line = [[0, first.to], ...inside, [total, points[last].to]].map(([t, v]) => `${x(t).toFixed(2)},${y(v).toFixed(2)}`).join(" ");
  const drag = (/** @type {PointerEvent} */ event, /** @type {number} */ i) => {
    const handle = /** @type {HTMLElement} */ (event.currentTarget), box = handle.parentElement?.getBoundingClientRect();
    if (!box) return;
    const gesture = `${key} drag ${++gestures}`, from = { x: event.clientX, y: event.clientY, at: points[i].at, p: scale.place(points[i].to) };
    held = { key, scale };
    choose({ point: i });
    handle.setPointerCapture(event.pointerId);
    handle.onpointermove = m => {
      if (Math.hypot(m.clientX - from.x, m.clientY - from.y) < 3) return;
      const p = from.p - STEPS * (m.clientY - from.y) / (box.height - 2 * MARGIN);
      move(i, { at: from.at + total * (m.clientX - from.x) / (box.width - 2 * MARGIN), to: scale.value(Math.round(p)) }, gesture);
    };
    handle.onpointerup = handle.onpointercancel = () => {
      handle.onpointermove = held = null;
      choose({});
    };
  };
  const keys = (/** @type {KeyboardEvent} */ event, /** @type {number} */ i) => {
    const across = { ArrowRight: 0.1, ArrowLeft: -0.1 }[event.key], up = { ArrowUp: 2, ArrowDown: -2 }[event.key];
    if (!across && !up) return;
    event.preventDefault();
    choose({ point: i });
    if (across) move(i, { at: points[i].at + across }, `${key} keys ${i}`);
    else move(i, { to: scale.value(Math.round(scale.place(points[i].to)) + (up ?? 0)) }, `${key} keys ${i}`);
  };
  return h("div", { key: "plot", class: "plot", role: "group", "aria-label": "Course: arrows move a point in time and value", style: { height: `${HEIGHT}px` } },
    h("svg", { viewBox: "0 0 100 100", preserveAspectRatio: "none", "aria-hidden": "true" }, h("polyline", { points: line })),
    points.map((p, i) => h("button", {
      key: String(i), type: "button", class: "handle", role: "slider", "aria-label": `Point ${i + 1}`, "aria-current": i === chosen,
      "aria-valuenow": p.to, "aria-valuetext": `${written(option, p.to)} at ${seconds(p.at)}`,
      style: { "--x": String(x(p.at) / 100), "--y": String(y(p.to) / 100) },
      onclick: () => choose({ point: i }), onpointerdown: (/** @type {any} */ e) => drag(e, i), onkeydown: (/** @type {any} */ e) => keys(e, i),
    })));
}
