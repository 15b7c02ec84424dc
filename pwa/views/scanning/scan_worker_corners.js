// Where in a picture a symbol's three corner squares may be, found by their shape, so that a dirty or blurred one counts too.

/** @typedef {import('./scan_worker_pictures.js').Grey} Grey */
/** @typedef {{x: number, y: number, module: number, likeness: number}} Corner a corner square's middle and its module's side [px]; likeness up to 1 */

/** Sides of modules that are looked for [px], each so many times the one before. */
const [MODULE_LEAST, MODULE_MOST, MODULE_STEP] = [1.8, 9, 1.16];
const LIKENESS_LEAST = 0.45;
/** Corner squares that are looked at closely. */
const CORNERS_MOST = 14;
/** Of the square's 81 modules with its light ring 33 are dark. */
const [DARK, LIGHT] = [33, 48];
/** What makes the difference of its dark and its light, over their spread, 1 at most. */
const SCALE = Math.sqrt(DARK * LIGHT) / (DARK + LIGHT);
/** Lights that spread less are noise. */
const SPREAD_LEAST = 3;
/** Places in a module that are looked at. */
const STEPS = 2.1;
/** Half sides of the squares inside one another, in modules. */
const RINGS = [1.5, 2.5, 3.5, 4.5];

/** Sums over all that lies above and to the left; of lights, and of their squares. @param {Grey} grey */
function sumsOf({ lights, width, height }) {
  const wide = width + 1;
  const sums = new Float64Array(wide * (height + 1));
  const squares = new Float64Array(sums.length);
  for (let y = 0; y < height; y += 1) {
    let row = 0;
    let square = 0;
    for (let x = 0; x < width; x += 1) {
      const light = lights[y * width + x];
      row += light;
      square += light * light;
      const at = (y + 1) * wide + x + 1;
      sums[at] = sums[at - wide] + row;
      squares[at] = squares[at - wide] + square;
    }
  }
  return { sums, squares, wide };
}

/**
 * Corner squares of symbols, the likeliest first, each once.
 *
 * @param {Grey} grey
 * @param {number} [most] longest side of a module [px]
 * @returns {Corner[]}
 */
export function cornersIn(grey, most = MODULE_MOST) {
  const sums = sumsOf(grey);
  /** @type {Corner[]} */
  const found = [];
  for (let module = MODULE_LEAST; module <= most; module *= MODULE_STEP) scan(grey, sums, module, found);
  found.sort((a, b) => b.likeness - a.likeness);
  /** @type {Corner[]} */
  const kept = [];
  for (const each of found) {
    if (kept.length === CORNERS_MOST) break;
    if (kept.every((other) => Math.hypot(other.x - each.x, other.y - each.y) > 2.5 * each.module))
      kept.push(each);
  }
  return kept;
}

/** @param {Grey} grey @param {ReturnType<typeof sumsOf>} of @param {number} module @param {Corner[]} found */
function scan({ width, height }, { sums, squares, wide }, module, found) {
  const reaches = RINGS.map((ring) => Math.max(1, Math.round(ring * module)));
  const areas = reaches.map((reach) => (2 * reach + 1) ** 2);
  const step = Math.max(1, Math.ceil(module / STEPS));
  /** The sum over a square round a place of the table. @param {Float64Array} of @param {number} at @param {number} reach */
  const within = (of, at, reach) => {
    const [above, below] = [at - reach * wide, at + (reach + 1) * wide];
    return of[below + reach + 1] - of[below - reach] - of[above + reach + 1] + of[above - reach];
  };
  const outside = reaches[3];
  for (let y = outside; y < height - outside; y += step)
    for (let x = outside; x < width - outside; x += step) {
      const at = y * wide + x;
      const first = within(sums, at, reaches[0]);
      const second = within(sums, at, reaches[1]);
      const middle = first / areas[0];
      const ring = (second - first) / (areas[1] - areas[0]);
      if (ring <= middle) continue;
      const third = within(sums, at, reaches[2]);
      const dark = (third - second) / (areas[2] - areas[1]);
      if (ring <= dark) continue;
      const all = within(sums, at, outside);
      const mean = all / areas[3];
      const spread = Math.sqrt(Math.max(within(squares, at, outside) / areas[3] - mean * mean, 1));
      const light = (16 * ring + (32 * (all - third)) / (areas[3] - areas[2])) / LIGHT;
      const likeness = (SCALE * (light - (9 * middle + 24 * dark) / DARK)) / spread;
      if (likeness > LIKENESS_LEAST && spread > SPREAD_LEAST) found.push({ x, y, module, likeness });
    }
}
