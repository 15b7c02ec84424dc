// Which modules are dark: learnt from those of the same symbol that are known, whatever smeared or lit it.

import { layoutOf, QUIET } from './scan_worker_symbol.js';

/** Modules on each side of one that tell about it when a picture is smeared. */
const REACH = 2;
const TAPS = (2 * REACH + 1) ** 2;
/** Surroundings whose mean and spread a module is held against, in modules on each side. */
const AROUND = 4;
/** Lights that differ by less than this are noise. */
const NOISE = 6;
/** Lights from which on the camera tells none apart. */
const DAZZLING = 248;
/** A module and the eight round it, as steps down and across. */
const NEIGHBOURS = [-1, 0, 1].flatMap((down) => [-1, 0, 1].map((across) => [down, across]));
/** How much weights are held back: few known modules must not be learnt by heart. */
const HELD_BACK = 0.02;

/** Lights held against their surroundings: dark above 0. @param {Float32Array} lights @param {number} wide */
function levelled(lights, wide) {
  const to = new Float32Array(lights.length);
  for (let row = 0; row < wide; row += 1)
    for (let column = 0; column < wide; column += 1) {
      let [sum, square, count] = [0, 0, 0];
      for (let y = Math.max(0, row - AROUND); y <= Math.min(wide - 1, row + AROUND); y += 1)
        for (let x = Math.max(0, column - AROUND); x <= Math.min(wide - 1, column + AROUND); x += 1) {
          const light = lights[y * wide + x];
          [sum, square, count] = [sum + light, square + light * light, count + 1];
        }
      const mean = sum / count;
      const spread = Math.sqrt(Math.max(square / count - mean * mean, NOISE * NOISE));
      to[row * wide + column] = (mean - lights[row * wide + column]) / spread;
    }
  return to;
}

/** Weights that bring rows nearest to what they should give: least squares. @param {Float32Array[]} rows @param {number[]} wanted */
function weightsFor(rows, wanted) {
  const count = rows[0].length;
  const square = Array.from({ length: count }, () => new Float64Array(count + 1));
  rows.forEach((row, at) => {
    for (let i = 0; i < count; i += 1) {
      for (let j = 0; j < count; j += 1) square[i][j] += row[i] * row[j];
      square[i][count] += row[i] * wanted[at];
    }
  });
  for (let i = 0; i < count; i += 1) square[i][i] += HELD_BACK * rows.length;
  for (let i = 0; i < count; i += 1)
    for (let below = i + 1; below < count; below += 1) {
      const share = square[below][i] / square[i][i];
      for (let j = i; j <= count; j += 1) square[below][j] -= share * square[i][j];
    }
  const weights = new Float64Array(count);
  for (let i = count - 1; i >= 0; i -= 1) {
    let rest = square[i][count];
    for (let j = i + 1; j < count; j += 1) rest -= square[i][j] * weights[j];
    weights[i] = rest / square[i][i];
  }
  return weights;
}

/** A module and those around it. @param {Float32Array} levels @param {number} wide @param {number} row @param {number} column */
function around(levels, wide, row, column) {
  const taps = new Float32Array(TAPS + 1);
  for (let dy = -REACH, tap = 0; dy <= REACH; dy += 1)
    for (let dx = -REACH; dx <= REACH; dx += 1, tap += 1) {
      const y = Math.min(Math.max(row + dy, 0), wide - 1);
      const x = Math.min(Math.max(column + dx, 0), wide - 1);
      taps[tap] = levels[y * wide + x];
    }
  taps[TAPS] = 1;
  return taps;
}

/**
 * How dark each module of a symbol is, from -1 to 1, near 0 where it is doubtful.
 *
 * @param {Float32Array} lights of its modules and of the light ones round it
 * @param {number} version
 * @param {Int8Array} known dark 1, light -1, 0 not known
 * @returns {Float32Array}
 */
export function darkness(lights, version, known) {
  const { side } = layoutOf(version);
  const wide = side + 2 * QUIET;
  const levels = levelled(lights, wide);
  /** @type {Float32Array[]} */
  const rows = [];
  /** @type {number[]} */
  const wanted = [];
  const all = Array.from({ length: side * side }, (_, place) =>
    around(levels, wide, Math.floor(place / side) + QUIET, (place % side) + QUIET),
  );
  all.forEach((row, place) => {
    if (known[place]) {
      rows.push(row);
      wanted.push(known[place]);
    }
  });
  const weights = weightsFor(rows, wanted);
  const lost = dazzled(lights, wide);
  return Float32Array.from(all, (row, place) => {
    if (lost[(Math.floor(place / side) + QUIET) * wide + (place % side) + QUIET]) return 0;
    const sum = row.reduce((so, each, tap) => so + each * weights[tap], 0);
    return Math.min(1, Math.max(-1, sum));
  });
}

/** Where a lamp is mirrored: nine modules together as light as the camera can tell, which no symbol's paper is. @param {Float32Array} lights @param {number} wide */
function dazzled(lights, wide) {
  const lost = new Uint8Array(lights.length);
  for (let row = QUIET + 1; row < wide - QUIET - 1; row += 1)
    for (let column = QUIET + 1; column < wide - QUIET - 1; column += 1) {
      const nine = NEIGHBOURS.map(([down, across]) => (row + down) * wide + column + across);
      if (nine.every((place) => lights[place] >= DAZZLING)) for (const place of nine) lost[place] = 1;
    }
  return lost;
}
