// Pictures made easier to read: where the symbol is, larger, sharper, black and white by its surroundings.

/**
 * @typedef {import('./scan_worker_reading.js').Picture} Picture
 * @typedef {{lights: Float32Array, width: number, height: number}} Grey lights from 0 to 255, row after row
 */

/** Share of the picture's shorter side that is looked at closely. */
const CLOSE = 0.6;
/** Least light that divides: the black of a print is never all black. */
const DARKEST = 1;

/** @param {Picture} picture @returns {Grey} */
export function grey({ data, width, height }) {
  const lights = new Float32Array(width * height);
  for (let at = 0; at < lights.length; at += 1)
    lights[at] = 0.299 * data[4 * at] + 0.587 * data[4 * at + 1] + 0.114 * data[4 * at + 2];
  return { lights, width, height };
}

/** @param {Grey} grey @returns {Picture} */
export function pictureOf({ lights, width, height }) {
  const data = new Uint8ClampedArray(4 * lights.length);
  for (let at = 0; at < lights.length; at += 1) {
    data[4 * at] = data[4 * at + 1] = data[4 * at + 2] = lights[at];
    data[4 * at + 3] = 255;
  }
  return { data, width, height };
}

/** The mean of so many pixels along a line, at each pixel; `step`: to the next pixel of the line. */
function alongLines(
  /** @type {Float32Array} */ from,
  /** @type {number} */ lines,
  /** @type {number} */ stride,
  /** @type {number} */ length,
  /** @type {number} */ step,
  /** @type {number} */ radius,
) {
  const to = new Float32Array(from.length);
  for (let line = 0; line < lines; line += 1) {
    const start = line * stride;
    /** @param {number} place */
    const at = (place) => from[start + step * Math.min(Math.max(place, 0), length - 1)];
    let sum = 0;
    for (let place = -radius; place <= radius; place += 1) sum += at(place);
    for (let place = 0; place < length; place += 1) {
      to[start + step * place] = sum / (2 * radius + 1);
      sum += at(place + radius + 1) - at(place - radius);
    }
  }
  return to;
}

/** Each pixel the mean of a square around it. @param {Float32Array} lights @param {Grey} size @param {number} across @param {number} [down] half its sides [px] */
function smeared(lights, { width, height }, across, down = across) {
  const rows = across ? alongLines(lights, height, width, width, 1, across) : lights;
  return down ? alongLines(rows, width, 1, height, width, down) : rows;
}

/** The square with most edges in it: there the symbol is. @param {Grey} grey @returns {Grey} */
export function busiest(grey) {
  const { lights, width, height } = grey;
  const edges = new Float32Array(lights.length);
  for (let at = width; at < lights.length; at += 1)
    edges[at] = Math.min(
      Math.abs(lights[at] - lights[at - 1]) + Math.abs(lights[at] - lights[at - width]),
      64,
    );
  const side = Math.round(CLOSE * Math.min(width, height));
  const half = side >> 1;
  const near = smeared(edges, grey, half >> 1);
  let best = half * width + half;
  for (let y = half; y < height - half; y += 8)
    for (let x = half; x < width - half; x += 8) if (near[y * width + x] > near[best]) best = y * width + x;
  return cut(grey, (best % width) - half, Math.floor(best / width) - half, side);
}

/** @param {Grey} grey @param {number} left @param {number} top @param {number} side @returns {Grey} */
function cut({ lights, width, height }, left, top, side) {
  const across = Math.min(side, width - left);
  const down = Math.min(side, height - top);
  const part = new Float32Array(across * down);
  for (let y = 0; y < down; y += 1)
    part.set(lights.subarray((top + y) * width + left, (top + y) * width + left + across), y * across);
  return { lights: part, width: across, height: down };
}

/** Twice as large, with lights between those of neighbours. @param {Grey} grey @returns {Grey} */
export function doubled({ lights, width, height }) {
  const wide = 2 * width;
  const to = new Float32Array(4 * width * height);
  for (let y = 0; y < 2 * height; y += 1) {
    const up = y >> 1;
    const down = y & 1 ? Math.min(up + 1, height - 1) : up;
    for (let x = 0; x < wide; x += 1) {
      const left = x >> 1;
      const right = x & 1 ? Math.min(left + 1, width - 1) : left;
      to[y * wide + x] =
        (lights[up * width + left] +
          lights[up * width + right] +
          lights[down * width + left] +
          lights[down * width + right]) /
        4;
    }
  }
  return { lights: to, width: wide, height: 2 * height };
}

/** Half as large, each light the mean of four. @param {Grey} grey @returns {Grey} */
export function halved({ lights, width, height }) {
  const [wide, high] = [width >> 1, height >> 1];
  const to = new Float32Array(wide * high);
  for (let y = 0; y < high; y += 1)
    for (let x = 0; x < wide; x += 1) {
      const at = 2 * y * width + 2 * x;
      to[y * wide + x] = (lights[at] + lights[at + 1] + lights[at + width] + lights[at + width + 1]) / 4;
    }
  return { lights: to, width: wide, height: high };
}

/** Black and white by the mean of the surroundings: a shadow or a glare is no symbol. @param {Grey} grey @param {number} radius @returns {Grey} */
export function byItsSurroundings(grey, radius) {
  const mean = smeared(grey.lights, grey, radius);
  const lights = grey.lights.map((light, at) => Math.min(255, Math.max(0, 128 + 3 * (light - mean[at]))));
  return { ...grey, lights };
}

/**
 * What was before it was smeared: Richardson's and Lucy's iteration, which finds lights that, smeared so, give the picture.
 *
 * @param {Grey} grey @param {(lights: Float32Array) => Float32Array} smear as the camera did, the same forth and back
 * @param {number} rounds
 * @returns {Grey}
 */
function unsmeared(grey, smear, rounds) {
  const seen = grey.lights.map((light) => Math.max(light, DARKEST));
  let lights = seen;
  for (let round = 0; round < rounds; round += 1) {
    const again = smear(lights);
    const share = smear(seen.map((light, at) => light / Math.max(again[at], DARKEST)));
    lights = lights.map((light, at) => Math.min(light * share[at], 400));
  }
  return { ...grey, lights };
}

/** Out of focus: a square, smeared twice, is near a bell. @param {Grey} grey @param {number} radius [px] @param {number} rounds */
export const focused = (grey, radius, rounds) =>
  unsmeared(grey, (lights) => smeared(smeared(lights, grey, radius), grey, radius), rounds);

/** Other ways to look at a picture, those that help most first: for codes that are no label of ours too. @type {((grey: Grey) => Picture)[]} */
export const WAYS = [
  (plain) => pictureOf(focused(busiest(plain), 2, 10)),
  (plain) => pictureOf(byItsSurroundings(plain, plain.height >> 4)),
  (plain) => pictureOf(byItsSurroundings(doubled(busiest(plain)), 24)),
];
