// Draws a house at night from a small light transport, as lumenmap's own pictures are drawn: the dark
// house, the light of groups of lamps on its faces, and every lamp's image, added up, then one tone
// curve. One module for the page of "lumenmap preview -o show.html" and for the desk.

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
 * @property {{ tiles: string, tops: number[], starts: number[], across: number, width: number, height: number }} wash
 * @property {{ places: number[], core: number, reach: number, veil: number, width: number }} lamps
 */

/** @typedef {{ where: Uint32Array, value: Float32Array }} Spots where light falls, and how much */

/** @param {string} url @returns {Promise<{ data: Uint8ClampedArray, width: number, height: number }>} */
async function pixelsOf(url) {
  const image = new Image();
  image.src = url;
  await image.decode();
  const sheet = new OffscreenCanvas(image.width, image.height);
  const pen = /** @type {OffscreenCanvasRenderingContext2D} */ (sheet.getContext("2d"));
  pen.drawImage(image, 0, 0);
  return { data: pen.getImageData(0, 0, image.width, image.height).data, width: image.width, height: image.height };
}

const toLinear = Float32Array.from({ length: 256 }, (_, v) => (v /= 255, v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
const STEPS = 4096;

/**
 * Linear light to the screen: linear to the knee, then a shoulder, then the sRGB curve.
 * @param {number} knee
 */
function toneTable(knee) {
  const tone = new Uint8ClampedArray(STEPS * 4);
  for (let i = 0; i < tone.length; i++) {
    const x = i / STEPS, rest = 1 - knee, y = x < knee ? x : 1 - rest * Math.exp(-(x - knee) / rest);
    tone[i] = Math.round(255 * (y <= 0.0031308 ? 12.92 * y : 1.055 * y ** (1 / 2.4) - 0.055));
  }
  return tone;
}

/**
 * The irradiance of each group of lamps, as spots of the small sheet.
 * @param {PictureData} D
 */
async function readGroups(D) {
  const tiles = await pixelsOf(D.wash.tiles), ew = D.wash.width, eh = D.wash.height;
  /** @type {(Spots & { first: number, end: number })[]} */
  const groups = [];
  for (let g = 0; g < D.wash.tops.length; g++) {
    const where = [], value = [], left = (g % D.wash.across) * ew, top = Math.floor(g / D.wash.across) * eh;
    for (let y = 0; y < eh; y++) for (let x = 0; x < ew; x++) {
      const v = tiles.data[4 * ((top + y) * tiles.width + left + x)] / 255;
      if (v > 0.015) { where.push(3 * (y * ew + x)); value.push(v * v * D.wash.tops[g]); }
    }
    groups.push({ where: Uint32Array.from(where), value: Float32Array.from(value), first: D.wash.starts[g], end: D.wash.starts[g + 1] ?? D.pixels });
  }
  return groups;
}

/**
 * The image of each lamp, as spots of the picture; those that are lit are marked in `hit`.
 * @param {PictureData} D
 * @param {Uint8Array} hit
 */
function readLamps(D, hit) {
  const W = D.width, H = D.height;
  const core = D.lamps.core, wide = D.lamps.width * core, reach = D.lamps.reach, edge = (1 + reach ** 2 / wide ** 2) ** -1.5;
  /** @type {Spots[]} */
  const lamps = [];
  for (let n = 0; n < D.pixels; n++) {
    const [px, py, level] = D.lamps.places.slice(3 * n, 3 * n + 3), where = [], value = [];
    if (level > 0) for (let y = Math.floor(py - reach); y <= py + reach; y++) for (let x = Math.floor(px - reach); x <= px + reach; x++) {
      if (x < 0 || y < 0 || x >= W || y >= H) continue;
      const q = (x + 0.5 - px) ** 2 + (y + 0.5 - py) ** 2;
      const v = level * (Math.exp(-q / (2 * core ** 2)) + D.lamps.veil * Math.max((1 + q / wide ** 2) ** -1.5 - edge, 0));
      if (v > 2e-3) { where.push(3 * (y * W + x)); value.push(v); hit[y * W + x] = 1; }
    }
    lamps.push({ where: Uint32Array.from(where), value: Float32Array.from(value) });
  }
  return lamps;
}

/**
 * Make a picture that draws on a canvas.
 * @param {PictureData} D
 * @param {HTMLCanvasElement} canvas
 */
export async function makePicture(D, canvas) {
  const W = D.width, H = D.height, N = D.pixels, C = D.channels, TONE = toneTable(D.knee), top = TONE.length - 1;
  const a = await pixelsOf(D.base), b = await pixelsOf(D.albedo);
  const base = new Float32Array(W * H * 3), albedo = new Float32Array(W * H * 3), hit = new Uint8Array(W * H);
  for (let i = 0; i < W * H; i++) for (let k = 0; k < 3; k++) {
    base[3 * i + k] = toLinear[a.data[4 * i + k]] * D.baseTop;
    albedo[3 * i + k] = toLinear[b.data[4 * i + k]] * D.albedoTop;
    if (b.data[4 * i + k]) hit[i] = 1;
  }
  const groups = await readGroups(D), lamps = readLamps(D, hit);
  const touched = Uint32Array.from(hit.keys()).filter(i => hit[i]);
  const ew = D.wash.width, eh = D.wash.height, ex = new Float32Array(W), ey = new Float32Array(H);
  for (let x = 0; x < W; x++) ex[x] = Math.min(Math.max((x + 0.5) * ew / W - 0.5, 0), ew - 1.001);
  for (let y = 0; y < H; y++) ey[y] = Math.min(Math.max((y + 0.5) * eh / H - 0.5, 0), eh - 1.001);
  canvas.width = W; canvas.height = H;
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d")), screen = pen.createImageData(W, H);
  const E = new Float32Array(ew * eh * 3), light = new Float32Array(N * 3), lin = new Float32Array(W * H * 3);
  for (let i = 0; i < W * H; i++) {
    for (let k = 0; k < 3; k++) screen.data[4 * i + k] = TONE[Math.min(base[3 * i + k] * STEPS | 0, top)];
    screen.data[4 * i + 3] = 255;
  }

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
    E.fill(0);
    for (const g of groups) {
      let r = 0, s = 0, b = 0;
      const count = g.end - g.first;
      for (let n = g.first; n < g.end; n++) { r += light[3 * n]; s += light[3 * n + 1]; b += light[3 * n + 2]; }
      if (r + s + b === 0) continue;
      r /= count; s /= count; b /= count;
      for (let i = 0; i < g.where.length; i++) { const w = g.where[i], v = g.value[i]; E[w] += v * r; E[w + 1] += v * s; E[w + 2] += v * b; }
    }
    for (let t = 0; t < touched.length; t++) {
      const i = touched[t], y = i / W | 0, u = ex[i - y * W], v = ey[y], x0 = u | 0, y0 = v | 0, fx = u - x0, fy = v - y0;
      const p = 3 * (y0 * ew + x0), q = p + 3 * ew, o = 3 * i;
      for (let k = 0; k < 3; k++) lin[o + k] = base[o + k] + albedo[o + k] * (
        (1 - fy) * ((1 - fx) * E[p + k] + fx * E[p + 3 + k]) + fy * ((1 - fx) * E[q + k] + fx * E[q + 3 + k]));
    }
    for (let n = 0; n < N; n++) {
      const r = light[3 * n], s = light[3 * n + 1], b = light[3 * n + 2];
      if (r + s + b === 0) continue;
      const { where, value } = lamps[n];
      for (let i = 0; i < where.length; i++) { const w = where[i], v = value[i]; lin[w] += v * r; lin[w + 1] += v * s; lin[w + 2] += v * b; }
    }
    const out = screen.data;
    for (let t = 0; t < touched.length; t++) {
      const i = touched[t];
      for (let k = 0; k < 3; k++) { const v = lin[3 * i + k] * STEPS | 0; out[4 * i + k] = TONE[v < top ? v : top]; }
    }
    pen.putImageData(screen, 0, 0);
  }
  return { width: W, height: H, pixels: N, places: D.lamps.places, lightOf, draw };
}
