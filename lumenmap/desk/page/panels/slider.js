// A number under the hand: a slider over what is usual, and a field for all of its range.
import { h } from "./dom.js";

/** Slider positions. */
export const STEPS = 200;
let gestures = 0;

/** @typedef {{ value: (p: number) => number, place: (v: number) => number }} Scale */

/** A number that reads well, and still moves with every step. @param {number} v @param {number} step */
const tidy = (v, step) => Number(v.toFixed(Math.min(Math.max(0, Math.ceil(-Math.log10(step / 2))), 6)));

/**
 * From a slider's position to a number and back; ranges over several powers of ten go by powers.
 * @param {number} low @param {number} high @returns {Scale}
 */
function scaleOf(low, high) {
  if (low > 0 && high / low > 50) {
    const k = Math.log(high / low);
    return {
      value: p => { const v = low * Math.exp(k * p / STEPS); return Math.min(high, Math.max(low, Number(v.toPrecision(3)))); },
      place: v => STEPS * Math.log(Math.max(v, low) / low) / k,
    };
  }
  return {
    value: p => tidy(low + (high - low) * p / STEPS, (high - low) / STEPS),
    place: v => STEPS * (v - low) / (high - low),
  };
}

/**
 * The scale of an option, wide enough for all of some numbers.
 * @param {import("./wire").Option} option @param {number[]} all
 */
export function usualScale(option, all) {
  const least = Math.min(...all), most = Math.max(...all.map(Math.abs));
  const low = option.low ?? Math.min(0, least), bound = option.high ?? Math.max(10, 4 * most);
  // A slider over the whole of a wide range can't be aimed: it covers what is usual, the field all of it.
  const around = Math.max(Math.abs(option.default ?? most), most, 1e-3) * 10;
  const wide = low <= 0 && bound > 2 * around, top = wide ? around : bound, bottom = low < -2 * around ? -around : low;
  return scaleOf(bottom, top);
}

/** As a file has it. @param {import("./wire").Option} option @param {number} v */
export function written(option, v) {
  const n = option.whole ? Math.round(v) : v;
  return option.unit ? `${n} ${option.unit}` : n;
}

/**
 * The slider and the field; `give` gets the number, and one word for each drag.
 * @param {import("./wire").Option} option @param {number} now @param {string} label @param {string} key
 * @param {(v: number, gesture: string) => void} give @param {Scale} [scale]
 */
export function fieldOf(option, now, label, key, give, scale = usualScale(option, [now])) {
  return [
    h("input", {
      key: "slider", type: "range", min: 0, max: STEPS, step: 1, value: Math.round(scale.place(now)), "aria-label": label,
      "aria-valuetext": `${now} ${option.unit}`, onpointerdown: () => { gestures++; },
      oninput: (/** @type {any} */ e) => give(scale.value(Number(e.target.value)), `${key} ${gestures}`),
    }),
    h("label", { key: "field", class: "number" }, h("input", {
      type: "number", step: option.whole ? 1 : "any", min: option.low, max: option.high, value: now, "aria-label": `${label}, ${option.unit}`,
      onchange: (/** @type {any} */ e) => give(Number(e.target.value), ""),
    }), ` ${option.unit}`),
  ];
}
