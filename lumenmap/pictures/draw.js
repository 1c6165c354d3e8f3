// Draws a house at night from a small light transport, as lumenmap's own pictures are drawn: the dark
// house, the light of groups of lamps on its faces, and every lamp's image, added up, then one tone
// curve. One module for the page of "lumenmap preview -o show.html" and for the desk.
import { paintByProcessor } from "./paint.js";
import { paintByGraphics } from "./paint_gpu.js";

/**
 * What `lumenmap.pictures.page` makes of a house.
 * @typedef {object} PictureData
 * @property {number} width
 * @property {number} height
 * @property {number} pixels
 * @property {number} channels of each pixel's codes
 * @property {number} knee where the tone curve begins to bend
 * @property {number[]} screen 3 x 3 by rows, from the light of the dies to linear sRGB
 * @property {number[]} white light of red, green and blue that looks as the white die at full
 * @property {{ first: number, count: number, order: string }[]} lines order of the codes' channels
 * @property {string} base the dark house, a picture
 * @property {number} baseTop the light of its white
 * @property {string} albedo the colours of the faces, a picture
 * @property {number} albedoTop
 * @property {{ tiles: string, tops: number[], starts: number[], across: number, width: number, height: number, near: string }} wash
 * @property {{ places: number[], core: number, reach: number, veil: number, width: number }} lamps
 */

/** @typedef {{ data: Uint8ClampedArray, width: number, height: number }} Sheet a picture's pixels, four bytes each */

/** @param {string} url @returns {Promise<Sheet>} */
async function pixelsOf(url) {
  const image = new Image();
  image.src = url;
  await image.decode();
  const sheet = new OffscreenCanvas(image.width, image.height);
  const pen = /** @type {OffscreenCanvasRenderingContext2D} */ (sheet.getContext("2d"));
  pen.drawImage(image, 0, 0);
  return { data: pen.getImageData(0, 0, image.width, image.height).data, width: image.width, height: image.height };
}

/**
 * Make a picture that draws on a canvas.
 * @param {PictureData} D
 * @param {HTMLCanvasElement} canvas
 */
export async function makePicture(D, canvas) {
  const W = D.width, H = D.height, N = D.pixels, C = D.channels, light = new Float32Array(N * 3);
  const [base, albedo, tiles, near] = await Promise.all([D.base, D.albedo, D.wash.tiles, D.wash.near].map(pixelsOf));
  canvas.width = W; canvas.height = H;
  const sheets = { base, albedo, tiles, near }, paint = paintByGraphics(D, sheets, canvas) ?? paintByProcessor(D, sheets, canvas);
  paint(light);

  /**
   * The light of a frame's codes (N x C from `start` on, each line in its own order): N x 3, kept until the next call.
   * @param {Uint8Array} codes
   * @param {number} [start]
   */
  function lightOf(codes, start = 0) {
    const m = D.screen, w = D.white, rgb = [0, 0, 0];
    for (const line of D.lines) for (let n = line.first; n < line.first + line.count; n++) {
      const at = start + n * C;
      rgb[0] = rgb[1] = rgb[2] = 0;
      for (let k = 0; k < C; k++) {
        const v = codes[at + k] / 255, c = "RGBW".indexOf(line.order[k]);
        if (c < 3) rgb[c] += v; else for (let j = 0; j < 3; j++) rgb[j] += w[j] * v;
      }
      for (let j = 0; j < 3; j++) {
        light[3 * n + j] = Math.max(m[3 * j] * rgb[0] + m[3 * j + 1] * rgb[1] + m[3 * j + 2] * rgb[2], 0);
      }
    }
    return light;
  }

  /**
   * Draw light as `lightOf` gives it; nothing is the dark house.
   * @param {Float32Array | null} [shown]
   */
  function draw(shown) {
    if (!shown) light.fill(0); else if (shown !== light) light.set(shown);
    paint(light);
  }
  return { width: W, height: H, pixels: N, places: D.lamps.places, lightOf, draw };
}
