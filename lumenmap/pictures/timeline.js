// One axis of time for the playing page: ruler, cues in lanes, and the current of each budget under
// each other, so that one line through all of them is one moment.

/**
 * @typedef {{ name: string, start: number, length: number }} Cue
 * @typedef {{ name: string, kind: string, binds: boolean, budget: number, top: number, amps: Uint16Array }} Budget
 */

const STEPS_OF_TIME = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800, 3600];

/** A moment as 2:05, with tenths if asked for. @param {number} seconds @param {number} [digits] */
export function clock(seconds, digits = 1) {
  const part = 10 ** digits, all = Math.round(seconds * part), minutes = Math.floor(all / (60 * part));
  return `${minutes}:${((all - minutes * 60 * part) / part).toFixed(digits).padStart(digits ? 3 + digits : 2, "0")}`;
}

/** @param {string} tag @param {string} [text] */
function made(tag, text) {
  const element = document.createElement(tag);
  if (text !== undefined) element.textContent = text;
  return element;
}

/**
 * The lane of each cue: the first in which it overlaps none before it.
 * @param {Cue[]} cues
 */
export function lanes(cues) {
  /** @type {number[]} */
  const ends = [], found = new Array(cues.length);
  const order = cues.map((_, n) => n).sort((a, b) => cues[a].start - cues[b].start || a - b);
  for (const n of order) {
    let lane = ends.findIndex(end => end <= cues[n].start + 1e-6);
    if (lane < 0) lane = ends.length;
    ends[lane] = cues[n].start + cues[n].length;
    found[n] = lane;
  }
  return found;
}

/** @param {HTMLElement} into @param {number} length */
function ruler(into, length) {
  const draw = () => {
    const most = Math.max(2, into.clientWidth / 74), step = STEPS_OF_TIME.find(s => length / s <= most) ?? length;
    const ends = length * (1 - 96 / Math.max(into.clientWidth, 1)); // then the last one's text begins
    into.replaceChildren();
    for (let t = 0; t === 0 || t < ends; t += step) {
      const tick = made("span", clock(t, step < 1 ? 1 : 0));
      tick.style.left = `${100 * t / length}%`;
      into.append(tick);
    }
    const last = made("span", clock(length, 1));
    last.className = "last"; last.style.left = "100%";
    into.append(last);
  };
  draw();
  addEventListener("resize", draw);
}

/**
 * The chart of one budget's current over time, with its limit.
 * @param {Budget} budget
 * @param {number} frames
 * @param {(frame: number) => void} seek
 */
function strip(budget, frames, seek) {
  const label = made("div"), name = made("b", budget.name), value = made("span");
  const canvas = /** @type {HTMLCanvasElement} */ (made("canvas"));
  label.className = "label"; canvas.className = "amps"; canvas.setAttribute("role", "img");
  if (budget.binds) name.append(made("i", budget.kind === "supply" ? " comes nearest to its limit" : ` (${budget.kind}) comes nearest to its limit`));
  label.append(name, value);
  const amps = Float32Array.from(budget.amps, v => v / 65535 * budget.top);
  const peak = amps.reduce((a, b) => Math.max(a, b), 0), high = 1.12 * Math.max(budget.budget, peak);
  canvas.setAttribute("aria-label", `Current of ${budget.name}: peak ${peak.toFixed(2)} A, budget ${budget.budget.toFixed(2)} A`);
  const at = (/** @type {PointerEvent} */ e) => seek(Math.floor(e.offsetX / canvas.clientWidth * frames));
  canvas.addEventListener("pointerdown", e => { canvas.setPointerCapture(e.pointerId); at(e); });
  canvas.addEventListener("pointermove", e => { if (e.buttons) at(e); });
  const paint = () => {
    const scale = devicePixelRatio || 1, w = canvas.width = Math.max(1, canvas.clientWidth * scale), h = canvas.height = 44 * scale;
    const c = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d")), y = (/** @type {number} */ a) => h - a / high * h;
    c.fillStyle = "#7d6641"; c.beginPath(); c.moveTo(0, h);
    for (let x = 0; x <= w; x++) {
      const from = Math.floor(x / w * frames), to = Math.max(from + 1, Math.floor((x + 1) / w * frames));
      let most = 0; for (let t = from; t < to && t < frames; t++) most = Math.max(most, amps[t]);
      c.lineTo(x, y(most || amps[frames - 1]));
    }
    c.lineTo(w, h); c.fill();
    c.strokeStyle = "#ff7a6b"; c.lineWidth = scale; c.setLineDash([5 * scale, 4 * scale]);
    c.beginPath(); c.moveTo(0, y(budget.budget)); c.lineTo(w, y(budget.budget)); c.stroke();
  };
  return { label, canvas, paint, show: (/** @type {number} */ frame) => { value.textContent = `${amps[frame].toFixed(2)} A of ${budget.budget.toFixed(2)} A`; } };
}

/**
 * Fill the axis; return what shows a frame on it.
 * @param {{ cues: Cue[], budgets: Budget[], frames: number, fps: number }} data
 * @param {(frame: number) => void} seek
 */
export function makeTimeline(data, seek) {
  const get = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));
  const length = data.frames / data.fps, rows = lanes(data.cues), place = get("cues"), power = get("power"), head = get("head");
  ruler(get("ticks"), length);
  const buttons = data.cues.map((cue, n) => {
    const button = made("button", cue.name);
    button.setAttribute("type", "button"); button.title = `${cue.name}, ${clock(cue.start)} to ${clock(cue.start + cue.length)}`;
    Object.assign(button.style, { left: `${100 * cue.start / length}%`, width: `${100 * Math.min(cue.length, length - cue.start) / length}%`, top: `${46 * rows[n] + 4}px` });
    button.addEventListener("click", () => seek(Math.ceil(cue.start * data.fps)));
    return button;
  });
  place.append(...buttons);
  place.style.height = data.cues.length ? `${46 * (Math.max(...rows) + 1) + 4}px` : "0";
  const strips = data.budgets.map(budget => strip(budget, data.frames, seek));
  for (const one of strips) { power.append(one.label, one.canvas); one.paint(); }
  addEventListener("resize", () => { for (const one of strips) one.paint(); });
  /** Show a frame; return the names of the cues that are on. @param {number} frame */
  return frame => {
    const s = frame / data.fps;
    head.style.left = `${100 * Math.min(1, (frame + 0.5) / data.frames)}%`;
    for (const one of strips) one.show(frame);
    return data.cues.filter((cue, n) => {
      const on = s >= cue.start && s < cue.start + cue.length;
      buttons[n].setAttribute("aria-current", String(on));
      return on;
    }).map(cue => cue.name);
  };
}
