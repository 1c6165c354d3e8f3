// OKLCH and back, and what the LEDs can show of it. B. Ottosson, "A perceptual color space for image
// processing" (2020); the same numbers as in CSS Color 4.

/** @typedef {[number, number, number]} Three */

/** @param {Three} lch @returns {Three} linear sRGB, which may be outside 0..1 */
export function toLinear([L, C, H]) {
  const a = C * Math.cos(H * Math.PI / 180), b = C * Math.sin(H * Math.PI / 180);
  const l = (L + 0.3963377774 * a + 0.2158037573 * b) ** 3, m = (L - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (L - 0.0894841775 * a - 1.291485548 * b) ** 3;
  return [4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s, -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
    -0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s];
}

/** @param {number[]} rgb linear sRGB @returns {Three} */
export function toLch([r, g, b]) {
  const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b), m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
  const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
  const A = 1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s, B = 0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s;
  return [0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s, Math.hypot(A, B), (Math.atan2(B, A) * 180 / Math.PI + 360) % 360];
}

/** Whether these LEDs can show it. @param {Three} rgb linear sRGB @param {number[]} matching 3 x 3 by rows */
export function shown(rgb, matching) {
  for (let k = 0; k < 3; k++) {
    const v = matching[3 * k] * rgb[0] + matching[3 * k + 1] * rgb[1] + matching[3 * k + 2] * rgb[2];
    if (v < -0.002 || v > 1.002) return false;
  }
  return true;
}

/** @param {number} v linear @returns {number} 0..255 */
export function toCode(v) {
  const x = Math.min(Math.max(v, 0), 1);
  return Math.round(255 * (x <= 0.0031308 ? 12.92 * x : 1.055 * x ** (1 / 2.4) - 0.055));
}

/** As a file has it. @param {Three} lch */
export const css = ([L, C, H]) => `oklch(${L.toFixed(3)} ${C.toFixed(3)} ${Math.round(H) % 360})`;

/** @param {number[]} rgb linear sRGB */
export const hex = rgb => `#${rgb.map(v => toCode(v).toString(16).padStart(2, "0")).join("")}`;

/** @param {number} v 0..255 @returns {number} linear */
export const fromCode = v => v <= 10.31475 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4;
