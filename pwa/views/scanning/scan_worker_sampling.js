// A symbol laid over a picture: four corners say where each module lies, and are moved until what is always the same fits.

import { layoutOf, QUIET } from './scan_worker_symbol.js';

/**
 * @typedef {import('./scan_worker_pictures.js').Grey} Grey
 * @typedef {number[]} Corners x and y of a symbol's upper left, upper right, lower right, lower left corner [px]
 */

/** Moves of a corner, in modules. */
const MOVES = [0.8, 0.4, 0.2, 0.1, 0.05];
const ROUNDS_MOST = 6;
/** Places in a module that are looked at. */
const PARTS = [
  [0.5, 0.5],
  [0.22, 0.22],
  [0.78, 0.22],
  [0.22, 0.78],
  [0.78, 0.78],
];
/** A symbol that fits worse after its fourth corner was looked for is none. */
const FIT_LEAST = 0.25;

/** What brings a place of the unit square into the picture. @param {Corners} corners */
function projection([x0, y0, x1, y1, x2, y2, x3, y3]) {
  const [dx1, dx2, sx] = [x1 - x2, x3 - x2, x0 - x1 + x2 - x3];
  const [dy1, dy2, sy] = [y1 - y2, y3 - y2, y0 - y1 + y2 - y3];
  const whole = dx1 * dy2 - dx2 * dy1 || 1e-9;
  const g = (sx * dy2 - dx2 * sy) / whole;
  const h = (dx1 * sy - sx * dy1) / whole;
  return [x1 - x0 + g * x1, x3 - x0 + h * x3, x0, y1 - y0 + g * y1, y3 - y0 + h * y3, y0, g, h];
}

/** Light between pixels. @param {Grey} grey @param {number} x @param {number} y */
function lightAt({ lights, width, height }, x, y) {
  const left = Math.min(Math.max(Math.floor(x), 0), width - 2);
  const top = Math.min(Math.max(Math.floor(y), 0), height - 2);
  const [right, down] = [Math.min(Math.max(x - left, 0), 1), Math.min(Math.max(y - top, 0), 1)];
  const at = top * width + left;
  const upper = lights[at] + right * (lights[at + 1] - lights[at]);
  const lower = lights[at + width] + right * (lights[at + width + 1] - lights[at + width]);
  return upper + down * (lower - upper);
}

/**
 * Light at places of a symbol.
 *
 * @param {Grey} grey @param {Corners} corners @param {number} side modules along it
 * @param {Float32Array} places x and y in modules, one pair after another
 * @param {Float32Array} to
 */
function lightsAt(grey, corners, side, places, to) {
  const [a, b, c, d, e, f, g, h] = projection(corners);
  for (let at = 0; at < to.length; at += 1) {
    const [u, v] = [places[2 * at] / side, places[2 * at + 1] / side];
    const deep = g * u + h * v + 1;
    // Half a pixel: a pixel's light is that of its middle.
    to[at] = lightAt(grey, (a * u + b * v + c) / deep - 0.5, (d * u + e * v + f) / deep - 0.5);
  }
}

/**
 * Places that are the same in all symbols of a version, in groups near one another.
 *
 * @typedef {{places: Float32Array, signs: Int8Array}} Group
 * @typedef {{rough: Group[], fine: Group[]}} Groups `rough`: the middles of modules only
 */

/** @type {Map<number, Groups>} */
const groups = new Map();

/** @param {number} version @returns {Groups} */
function groupsOf(version) {
  const made = groups.get(version) ?? {
    rough: newGroups(version, PARTS.slice(0, 1)),
    fine: newGroups(version, PARTS),
  };
  groups.set(version, made);
  return made;
}

/** Three corners with their light rings, and what lies between them. @param {number} version @param {number[][]} parts @returns {Group[]} */
function newGroups(version, parts) {
  const { side, fixed } = layoutOf(version);
  /** @type {{places: number[], signs: number[]}[]} */
  const all = Array.from({ length: 4 }, () => ({ places: [], signs: [] }));
  for (let row = -1; row <= side; row += 1)
    for (let column = -1; column <= side; column += 1) {
      const inside = row >= 0 && column >= 0 && row < side && column < side;
      const sign = inside ? fixed[row * side + column] : -1;
      if (!sign) continue;
      const [high, left] = [row < 8, column < 8];
      const [low, right] = [row >= side - 8, column >= side - 8];
      const group = high && left ? 0 : high && right ? 1 : low && left ? 2 : 3;
      for (const [dx, dy] of parts) {
        all[group].places.push(column + dx, row + dy);
        all[group].signs.push(sign);
      }
    }
  return all.map(({ places, signs }) => ({
    places: Float32Array.from(places),
    signs: Int8Array.from(signs),
  }));
}

const lights = new Float32Array(4096);

/** How well lights go with what they should be, from -1 to 1. @param {Float32Array} lights @param {Int8Array} signs dark 1 */
function agreement(lights, signs) {
  let [sum, square, sign, both] = [0, 0, 0, 0];
  for (let at = 0; at < signs.length; at += 1) {
    sum += lights[at];
    square += lights[at] * lights[at];
    sign += signs[at];
    both += lights[at] * signs[at];
  }
  const count = signs.length;
  const spread = (square - (sum * sum) / count) * (count - (sign * sign) / count);
  return (
    (((sum * sign) / count - both) / Math.sqrt(Math.max(spread, 1e-6))) *
    (square * count - sum * sum > 16 * count * count ? 1 : 0.3)
  );
}

/**
 * How well a symbol of a version fits where it is laid: from -1 to 1.
 *
 * @param {Grey} grey @param {Corners} corners @param {number} version @param {keyof Groups} [how]
 */
export function fitOf(grey, corners, version, how = 'rough') {
  const { side } = layoutOf(version);
  let sum = 0;
  for (const { places, signs } of groupsOf(version)[how]) {
    const own = lights.subarray(0, signs.length);
    lightsAt(grey, corners, side, places, own);
    sum += agreement(own, signs);
  }
  return sum / 4;
}

/** @typedef {{corners: Corners, version: number, fit: number}} Laid */

/**
 * The corners moved until the symbol fits best.
 *
 * @param {Grey} grey @param {Corners} start @param {number} version
 * @returns {Laid}
 */
export function laidBest(grey, start, version) {
  const { side } = layoutOf(version);
  let corners = start.slice();
  let fit = fitOf(grey, corners, version);
  const across = Math.hypot(start[2] - start[0], start[3] - start[1]) / side;
  const down = Math.hypot(start[6] - start[0], start[7] - start[1]) / side;
  const module = Math.sqrt(across * down);
  /** @param {number} place @param {number} by */
  const move = (place, by) => {
    const moved = corners.slice();
    moved[place] += by;
    const now = fitOf(grey, moved, version, 'fine');
    if (now <= fit) return false;
    [corners, fit] = [moved, now];
    return true;
  };
  // The corner without a square is least known: a tilted label has it far from where a square would.
  const [x, y] = [corners[4], corners[5]];
  for (let dx = -5; dx <= 5; dx += 1)
    for (let dy = -5; dy <= 5; dy += 1) {
      const moved = corners.slice();
      moved[4] = x + dx * module;
      moved[5] = y + dy * module;
      const now = fitOf(grey, moved, version);
      if (now > fit) [corners, fit] = [moved, now];
    }
  if (fit < FIT_LEAST) return { corners, version, fit };
  fit = fitOf(grey, corners, version, 'fine');
  for (const step of MOVES)
    for (let round = 0, better = true; better && round < ROUNDS_MOST; round += 1) {
      better = false;
      for (let place = 0; place < 8; place += 1)
        better = move(place, step * module) || move(place, -step * module) || better;
    }
  return { corners, version, fit };
}

/**
 * The mean light of each module, with so many light ones round the symbol; row after row.
 *
 * @param {Grey} grey @param {Laid} laid
 */
export function moduleLights(grey, { corners, version }) {
  const { side } = layoutOf(version);
  const wide = side + 2 * QUIET;
  const to = new Float32Array(wide * wide);
  const one = new Float32Array(9);
  const places = new Float32Array(18);
  for (let at = 0; at < to.length; at += 1) {
    for (let part = 0; part < 9; part += 1) {
      places[2 * part] = (at % wide) - QUIET + 0.22 + 0.28 * (part % 3);
      places[2 * part + 1] = Math.floor(at / wide) - QUIET + 0.22 + 0.28 * Math.floor(part / 3);
    }
    lightsAt(grey, corners, side, places, one);
    to[at] = one.reduce((sum, each) => sum + each, 0) / 9;
  }
  return to;
}
