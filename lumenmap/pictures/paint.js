// Paints a picture by the processor: what `paint_gpu.js` does, for browsers without WebGL.
/** @typedef {import("./draw.js").PictureData} PictureData */
/** @typedef {import("./draw.js").Sheet} Sheet */
/** @typedef {{ where: Uint32Array, value: Float32Array }} Spots where light falls, and how much */

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
 * @param {Sheet} tiles
 */
function readGroups(D, tiles) {
  const ew = D.wash.width, eh = D.wash.height;
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
 * For each of these pixels of the picture, 0 if it mixes four cells of the small sheet, or 1 + where
 * the only cell that it takes is: the others lie on another face.
 * @param {PictureData} D
 * @param {Sheet} sheet
 * @param {Uint32Array} touched
 */
function readNear(D, { data: map }, touched) {
  const W = D.width, H = D.height, ew = D.wash.width, eh = D.wash.height;
  const near = new Uint32Array(touched.length);
  for (let t = 0; t < touched.length; t++) {
    const i = touched[t], code = map[4 * i];
    if (!code) continue;
    const y = i / W | 0, x = i - y * W, x0 = between(x, W, ew) | 0, y0 = between(y, H, eh) | 0;
    near[t] = 1 + 3 * ((y0 + Math.floor((code - 1) / 5) - 2) * ew + x0 + (code - 1) % 5 - 2);
  }
  return near;
}

/** Where a column or row of the picture lies between those of the small sheet. @param {number} x @param {number} W @param {number} ew */
const between = (x, W, ew) => Math.min(Math.max((x + 0.5) * ew / W - 0.5, 0), ew - 1.001);

/**
 * Return what paints the light of the pixels (N x 3) on a canvas.
 * @param {PictureData} D
 * @param {Record<"base" | "albedo" | "tiles" | "near", Sheet>} sheets
 * @param {HTMLCanvasElement} canvas
 * @returns {(light: Float32Array) => void}
 */
export function paintByProcessor(D, sheets, canvas) {
  const W = D.width, H = D.height, N = D.pixels, TONE = toneTable(D.knee), top = TONE.length - 1;
  const a = sheets.base, b = sheets.albedo, hit = new Uint8Array(W * H);
  for (let i = 0; i < W * H; i++) if (b.data[4 * i] || b.data[4 * i + 1] || b.data[4 * i + 2]) hit[i] = 1;
  const groups = readGroups(D, sheets.tiles), lamps = readLamps(D, hit);
  // Everything that is needed for each frame is kept for the pixels that lamps light, one after the other.
  const touched = Uint32Array.from(hit.keys()).filter(i => hit[i]), count = touched.length, near = readNear(D, sheets.near, touched);
  const base = new Float32Array(3 * count), albedo = new Float32Array(3 * count), place = new Uint32Array(W * H);
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d")), screen = pen.createImageData(W, H);
  const out = new Uint32Array(screen.data.buffer);
  for (let i = 0; i < W * H; i++) {
    for (let k = 0; k < 3; k++) screen.data[4 * i + k] = TONE[Math.min(toLinear[a.data[4 * i + k]] * D.baseTop * STEPS | 0, top)];
    screen.data[4 * i + 3] = 255;
  }
  pen.putImageData(screen, 0, 0);
  for (let t = 0; t < count; t++) for (let k = 0, i = touched[t]; k < 3; k++) {
    base[3 * t + k] = toLinear[a.data[4 * i + k]] * D.baseTop;
    albedo[3 * t + k] = toLinear[b.data[4 * i + k]] * D.albedoTop;
    place[i] = 3 * t;
  }
  for (const { where } of lamps) for (let i = 0; i < where.length; i++) where[i] = place[where[i] / 3];
  const ew = D.wash.width, eh = D.wash.height, column = new Uint32Array(W), part = new Float32Array(W);
  for (let x = 0; x < W; x++) { const u = between(x, W, ew); column[x] = 3 * (u | 0); part[x] = u - (u | 0); }
  const first = new Uint32Array(H + 1);
  for (let t = 0; t < count; t++) first[(touched[t] / W | 0) + 1] = t + 1;
  for (let y = 0; y < H; y++) first[y + 1] = Math.max(first[y + 1], first[y]);
  const E = new Float32Array(ew * eh * 3), row = new Float32Array(ew * 3), lin = new Float32Array(3 * count);

  /** Add the light of all groups up on the small sheet. @param {Float32Array} light */
  function addGroups(light) {
    E.fill(0);
    for (const g of groups) {
      let r = 0, s = 0, b = 0;
      const many = g.end - g.first;
      for (let n = g.first; n < g.end; n++) { r += light[3 * n]; s += light[3 * n + 1]; b += light[3 * n + 2]; }
      if (r + s + b === 0) continue;
      r /= many; s /= many; b /= many;
      for (let i = 0; i < g.where.length; i++) { const w = g.where[i], v = g.value[i]; E[w] += v * r; E[w + 1] += v * s; E[w + 2] += v * b; }
    }
  }

  /** Add the images of all lamps to what they cover. @param {Float32Array} light */
  function addLamps(light) {
    for (let n = 0; n < N; n++) {
      const r = light[3 * n], s = light[3 * n + 1], b = light[3 * n + 2];
      if (r + s + b === 0) continue;
      const { where, value } = lamps[n];
      for (let i = 0; i < where.length; i++) { const w = where[i], v = value[i]; lin[w] += v * r; lin[w + 1] += v * s; lin[w + 2] += v * b; }
    }
  }

  return light => {
    addGroups(light);
    lin.set(base);
    addLamps(light);
    for (let y = 0; y < H; y++) {
      if (first[y] === first[y + 1]) continue;
      const v = between(y, H, eh), above = 3 * ew * (v | 0), down = v - (v | 0);
      for (let i = 0; i < 3 * ew; i++) row[i] = E[above + i] + down * (E[above + 3 * ew + i] - E[above + i]);
      const left = y * W;
      for (let t = first[y]; t < first[y + 1]; t++) {
        const i = touched[t], x = i - left, o = 3 * t;
        let r, s, b;
        if (near[t]) { const q = near[t] - 1; r = E[q]; s = E[q + 1]; b = E[q + 2]; }
        else {
          const p = column[x], f = part[x];
          r = row[p] + f * (row[p + 3] - row[p]); s = row[p + 1] + f * (row[p + 4] - row[p + 1]); b = row[p + 2] + f * (row[p + 5] - row[p + 2]);
        }
        const red = (lin[o] + albedo[o] * r) * STEPS | 0, green = (lin[o + 1] + albedo[o + 1] * s) * STEPS | 0, blue = (lin[o + 2] + albedo[o + 2] * b) * STEPS | 0;
        out[i] = 0xff000000 | TONE[blue < top ? blue : top] << 16 | TONE[green < top ? green : top] << 8 | TONE[red < top ? red : top];
      }
    }
    pen.putImageData(screen, 0, 0);
  };
}
