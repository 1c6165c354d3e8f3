// Paints a picture by the graphics processor, where the browser has WebGL 2: the same sums as in
// `paint.js`, which for a phone's processor are a frame's whole time. Three passes: the light of all
// groups on the small sheet, the images of all lamps, and both on the dark house through the tone curve.
import { GLOW, LAMP, SHEET, SHOWN, WHOLE } from "./paint_shaders.js";

/** @typedef {import("./draw.js").PictureData} PictureData */
/** @typedef {import("./draw.js").Sheet} Sheet */

/** What a context must be: quicker than the processor, and kept until the next picture. */
const ASKED = { alpha: false, antialias: false, depth: false, failIfMajorPerformanceCaveat: true, preserveDrawingBuffer: true };
/** Names of renderers that are programs, which are slower at this than `paint.js`; not all heed what is asked. */
const SOFTWARE = /swiftshader|llvmpipe|softpipe|software|basic render/i;
/** Each lets light beyond 0 and 1 be added up. */
const EXTENSIONS = ["EXT_color_buffer_float", "EXT_color_buffer_half_float"];
/** Largest side of a texture, 0 if the browser can't paint so; unknown before it has been asked. @type {number | null} */
let largest = null;
/** What frees the painting that a canvas had before. @type {WeakMap<HTMLCanvasElement, () => void>} */
const earlier = new WeakMap();

/**
 * @param {WebGL2RenderingContext} gl
 * @param {string} vertex
 * @param {string} fragment
 * @param {Record<string, number | number[]>} values of its uniforms: whole numbers as [n], pairs of them as [a, b]
 */
function program(gl, vertex, fragment, values) {
  const made = /** @type {WebGLProgram} */ (gl.createProgram());
  for (const [kind, text] of /** @type {[number, string][]} */ ([[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]])) {
    const shader = /** @type {WebGLShader} */ (gl.createShader(kind));
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  for (const [place, name] of ["corner", "place", "colour"].entries()) gl.bindAttribLocation(made, place, name);
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS) && !gl.isContextLost()) throw new Error(gl.getProgramInfoLog(made) ?? "");
  gl.useProgram(made);
  for (const [name, value] of Object.entries(values)) {
    const at = gl.getUniformLocation(made, name);
    if (typeof value === "number") gl.uniform1f(at, value);
    else if (value.length === 1) gl.uniform1i(at, value[0]);
    else gl.uniform2i(at, value[0], value[1]);
  }
  return made;
}

/** @param {WebGL2RenderingContext} gl @param {number} unit where it stays bound @param {number} kind @param {number} width @param {number} height @param {Uint8ClampedArray} [data] */
function texture(gl, unit, kind, width, height, data) {
  const made = /** @type {WebGLTexture} */ (gl.createTexture());
  gl.activeTexture(gl.TEXTURE0 + unit);
  gl.bindTexture(gl.TEXTURE_2D, made);
  for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, name, gl.NEAREST);
  gl.texStorage2D(gl.TEXTURE_2D, 1, kind, width, height);
  if (data) gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, width, height, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(data.buffer));
  return made;
}

/** @param {WebGL2RenderingContext} gl @param {WebGLTexture} onto @returns {WebGLFramebuffer} */
function target(gl, onto) {
  const made = /** @type {WebGLFramebuffer} */ (gl.createFramebuffer());
  gl.bindFramebuffer(gl.FRAMEBUFFER, made);
  gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, onto, 0);
  const state = gl.checkFramebufferStatus(gl.FRAMEBUFFER);
  if (state !== gl.FRAMEBUFFER_COMPLETE && !gl.isContextLost()) throw new Error(`framebuffer ${state}`);
  return made;
}

/** @param {WebGL2RenderingContext} gl @param {number} place of the attribute @param {number} many numbers of each @param {number} every how many copies have the same; 0: each corner has its own @param {Float32Array} data */
function attribute(gl, place, many, every, data) {
  const made = /** @type {WebGLBuffer} */ (gl.createBuffer());
  gl.bindBuffer(gl.ARRAY_BUFFER, made);
  gl.bufferData(gl.ARRAY_BUFFER, data, gl.DYNAMIC_DRAW);
  gl.enableVertexAttribArray(place);
  gl.vertexAttribPointer(place, many, gl.FLOAT, false, 0, 0);
  gl.vertexAttribDivisor(place, every);
  return made;
}

/**
 * What the processor of graphics holds of a picture, and how a frame is painted with it.
 * @param {WebGL2RenderingContext} gl
 * @param {PictureData} D
 * @param {Record<"base" | "albedo" | "tiles" | "near", Sheet>} sheets
 */
function prepared(gl, D, sheets) {
  const W = D.width, H = D.height, N = D.pixels, many = D.wash.tops.length, small = [D.wash.width, D.wash.height];
  for (const name of EXTENSIONS) gl.getExtension(name);
  for (const [unit, { width, height, data }] of [sheets.base, sheets.albedo, sheets.near, sheets.tiles].entries()) texture(gl, unit, gl.RGBA8, width, height, data);
  texture(gl, 4, gl.RGBA32F, many, 1);
  const groups = target(gl, texture(gl, 5, gl.RGBA16F, small[0], small[1])), lamps = target(gl, texture(gl, 6, gl.RGBA16F, W, H));
  const add = program(gl, WHOLE, SHEET, { tiles: [3], means: [4], groups: [many], across: [D.wash.across], small });
  const { core, reach, veil } = D.lamps;
  const shine = program(gl, LAMP, GLOW, { size: [W, H], core, reach, veil, wide: D.lamps.width * core });
  const show = program(gl, WHOLE, SHOWN, {
    base: [0], albedo: [1], near: [2], sheet: [5], lamps: [6], size: [W, H], small, baseTop: D.baseTop, albedoTop: D.albedoTop, knee: D.knee,
  });
  gl.bindVertexArray(gl.createVertexArray());
  attribute(gl, 0, 2, 0, Float32Array.of(-1, -1, 1, -1, -1, 1, 1, 1));
  attribute(gl, 1, 3, 1, Float32Array.from(D.lamps.places));
  attribute(gl, 2, 3, 1, new Float32Array(3 * N));
  gl.blendFunc(gl.ONE, gl.ONE);
  gl.clearColor(0, 0, 0, 0);
  gl.activeTexture(gl.TEXTURE4);
  const means = new Float32Array(4 * many);

  /** @param {Float32Array} light */
  return light => {
    meanLight(D, light, means);
    gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, many, 1, gl.RGBA, gl.FLOAT, means);
    gl.bufferSubData(gl.ARRAY_BUFFER, 0, light);
    gl.useProgram(add);
    gl.bindFramebuffer(gl.FRAMEBUFFER, groups);
    gl.viewport(0, 0, small[0], small[1]);
    gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4);
    gl.useProgram(shine);
    gl.bindFramebuffer(gl.FRAMEBUFFER, lamps);
    gl.viewport(0, 0, W, H);
    gl.clear(gl.COLOR_BUFFER_BIT);
    gl.enable(gl.BLEND);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, N);
    gl.disable(gl.BLEND);
    gl.useProgram(show);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4);
  };
}

/** The light of each group's white face where its sheet is at the top: red, green, blue and nothing. @param {PictureData} D @param {Float32Array} light @param {Float32Array} means */
function meanLight(D, light, means) {
  const { starts, tops } = D.wash;
  for (let g = 0; g < tops.length; g++) {
    const first = starts[g], end = starts[g + 1] ?? D.pixels;
    for (let k = 0; k < 3; k++) {
      let sum = 0;
      for (let n = first; n < end; n++) sum += light[3 * n + k];
      means[4 * g + k] = sum / (end - first) * tops[g];
    }
  }
}

/** @param {HTMLCanvasElement} canvas */
const contextOf = canvas => /** @type {WebGL2RenderingContext | null} */ (canvas.getContext("webgl2", ASKED));

/**
 * The largest side of a texture; 0 if this browser can't paint so. It is tried on a canvas of its own: one that has
 * been asked for WebGL can't be painted on otherwise.
 */
function tried() {
  const gl = contextOf(document.createElement("canvas")), one = { data: new Uint8ClampedArray(4), width: 1, height: 1 };
  if (!gl) return 0;
  try {
    const about = gl.getExtension("WEBGL_debug_renderer_info");
    if (SOFTWARE.test(String(gl.getParameter(about ? about.UNMASKED_RENDERER_WEBGL : gl.RENDERER)))) return 0;
    const wash = { tiles: "", tops: [1], starts: [0], across: 1, width: 1, height: 1, near: "" };
    const lamps = { places: [0, 0, 1], core: 1, reach: 1, veil: 0, width: 1 };
    const picture = { width: 1, height: 1, pixels: 1, channels: 3, knee: 0.5, screen: [], white: [], lines: [], base: "", baseTop: 1, albedo: "", albedoTop: 1, wash, lamps };
    prepared(gl, picture, { base: one, albedo: one, tiles: one, near: one })(new Float32Array(3));
    return gl.getError() === gl.NO_ERROR ? gl.getParameter(gl.MAX_TEXTURE_SIZE) : 0;
  } catch {
    return 0;
  } finally {
    gl.getExtension("WEBGL_lose_context")?.loseContext();
  }
}

/**
 * Return what paints the light of the pixels (N x 3) on a canvas, or null if this browser can't paint so.
 * @param {PictureData} D
 * @param {Record<"base" | "albedo" | "tiles" | "near", Sheet>} sheets
 * @param {HTMLCanvasElement} canvas
 * @returns {((light: Float32Array) => void) | null}
 */
export function paintByGraphics(D, sheets, canvas) {
  const side = largest ??= tried();
  if (Math.max(D.width, D.height, sheets.tiles.width, sheets.tiles.height, D.wash.tops.length) > side) return null;
  const gl = contextOf(canvas);
  if (!gl) return null;
  earlier.get(canvas)?.();
  let paint = prepared(gl, D, sheets);
  /** @type {Float32Array} */
  let last = new Float32Array(3 * D.pixels);
  // A phone takes the processor away from a page in the background.
  const lost = (/** @type {Event} */ event) => event.preventDefault();
  const back = () => { paint = prepared(gl, D, sheets); paint(last); };
  canvas.addEventListener("webglcontextlost", lost);
  canvas.addEventListener("webglcontextrestored", back);
  earlier.set(canvas, () => {
    canvas.removeEventListener("webglcontextlost", lost);
    canvas.removeEventListener("webglcontextrestored", back);
  });
  return light => { last = light; paint(light); };
}
