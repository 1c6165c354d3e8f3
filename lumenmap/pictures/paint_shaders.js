// The programs of the graphics processor that `paint_gpu.js` runs, in GLSL ES 3.00.
const HEAD = "#version 300 es\nprecision highp float;\nprecision highp int;\nprecision highp sampler2D;\n";
/** Vertices of what covers everything. */
export const WHOLE = `${HEAD}in vec2 corner;\nvoid main() { gl_Position = vec4(corner, 0, 1); }`;

/** The light of all groups, added up in each cell of the small sheet. */
export const SHEET = `${HEAD}
uniform sampler2D tiles, means;
uniform int groups, across;
uniform ivec2 small;
out vec4 light;
void main() {
  light = vec4(0);
  for (int g = 0; g < groups; g++) {
    float v = texelFetch(tiles, ivec2(g % across, g / across) * small + ivec2(gl_FragCoord), 0).r;
    if (v > 0.015) light.rgb += v * v * texelFetch(means, ivec2(g, 0), 0).rgb;
  }
}`;

/** A square around each lamp, as wide as its light reaches. */
export const LAMP = `${HEAD}
uniform ivec2 size;
uniform float reach;
in vec2 corner;
in vec3 place, colour;
out vec2 away;
flat out vec4 shine;
void main() {
  away = corner * (reach + 1.0);
  shine = vec4(colour, place.z);
  gl_Position = place.z > 0.0 ? vec4((place.xy + away) / vec2(size) * 2.0 - 1.0, 0, 1) : vec4(2, 2, 2, 1);
}`;

/** The image of a lamp: its core and a veil around it. */
export const GLOW = `${HEAD}
uniform float core, wide, reach, veil;
in vec2 away;
flat in vec4 shine;
out vec4 light;
void main() {
  float q = dot(away, away), edge = pow(1.0 + reach * reach / (wide * wide), -1.5);
  float v = shine.w * (exp(-q / (2.0 * core * core)) + veil * max(pow(1.0 + q / (wide * wide), -1.5) - edge, 0.0));
  light = v > 2e-3 ? vec4(v * shine.rgb, 0) : vec4(0);
}`;

/** The dark house, with the light on its faces and the lamps, through the tone curve. */
export const SHOWN = `${HEAD}
uniform sampler2D base, albedo, near, sheet, lamps;
uniform ivec2 size, small;
uniform float baseTop, albedoTop, knee;
out vec4 shown;
vec3 linear(vec3 c) { return mix(pow((c + 0.055) / 1.055, vec3(2.4)), c / 12.92, lessThanEqual(c, vec3(0.04045))); }
vec3 coded(vec3 x) { return mix(1.055 * pow(x, vec3(1.0 / 2.4)) - 0.055, 12.92 * x, lessThanEqual(x, vec3(0.0031308))); }
vec3 cell(ivec2 at) { return texelFetch(sheet, at, 0).rgb; }
void main() {
  ivec2 at = ivec2(gl_FragCoord.x, size.y - 1 - int(gl_FragCoord.y));
  vec2 between = clamp((vec2(at) + 0.5) * vec2(small) / vec2(size) - 0.5, vec2(0), vec2(small) - 1.001);
  ivec2 low = ivec2(between);
  vec2 part = between - vec2(low);
  int code = int(texelFetch(near, at, 0).r * 255.0 + 0.5);
  vec3 fall = code > 0 ? cell(low + ivec2((code - 1) % 5 - 2, (code - 1) / 5 - 2)) : mix(
    mix(cell(low), cell(low + ivec2(1, 0)), part.x), mix(cell(low + ivec2(0, 1)), cell(low + ivec2(1)), part.x), part.y);
  vec3 light = linear(texelFetch(base, at, 0).rgb) * baseTop + texelFetch(lamps, at, 0).rgb
    + linear(texelFetch(albedo, at, 0).rgb) * albedoTop * fall;
  float rest = 1.0 - knee;
  light = mix(1.0 - rest * exp(-(light - knee) / rest), light, lessThan(light, vec3(knee)));
  shown = vec4(coded(light), 1);
}`;
