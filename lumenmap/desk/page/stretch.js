// Reads a stretch of codes; the layout is described in lumenmap/desk/wire/stretch.py.

/**
 * One frame as the controllers get it: codes of each pixel, amps of each supply, how much it is dimmed.
 * @typedef {object} Frame
 * @property {Uint8Array} codes
 * @property {Float32Array} amps
 * @property {number} gain
 * @property {number} load of the fullest budget, 0..1
 * @property {number} full the number of that budget
 * @property {boolean} [old] it is of an older version of the show
 */

/**
 * @typedef {object} Stretch
 * @property {number} show
 * @property {number} version
 * @property {number} first
 * @property {boolean} final
 * @property {boolean} flashing
 * @property {Frame[]} frames
 */

const HEADER = 32;

/** @param {ArrayBuffer} message @returns {Promise<Stretch>} */
export async function readStretch(message) {
  const head = new DataView(message, 0, HEADER), flags = head.getUint8(1), supplies = head.getUint16(2, true);
  if (head.getUint8(0) !== 1) throw new Error("not a stretch of codes");
  const [show, version, first, count, pixels, channels] = [4, 8, 12, 16, 20, 24].map(at => head.getUint32(at, true));
  let body = message.slice(HEADER);
  if (flags & 1) {
    body = await new Response(new Blob([body]).stream().pipeThrough(new DecompressionStream("deflate"))).arrayBuffer();
  }
  let at = 0;
  /** @param {number} bytes */
  const skip = bytes => (at += bytes, at - bytes);
  const amps = new Float32Array(body, skip(4 * count * supplies), count * supplies);
  const gain = new Float32Array(body, skip(4 * count), count), load = new Float32Array(body, skip(4 * count), count);
  const full = new Uint16Array(body, skip(2 * count + 2 * (count % 2)), count);
  const size = pixels * channels, codes = new Uint8Array(body, at, count * size);
  const frames = Array.from({ length: count }, (_, i) => ({
    codes: codes.subarray(i * size, (i + 1) * size),
    amps: amps.subarray(i * supplies, (i + 1) * supplies),
    gain: gain[i],
    load: load[i],
    full: full[i],
  }));
  return { show, version, first, final: Boolean(flags & 2), flashing: Boolean(flags & 4), frames };
}
