// A damaged label of ours: its symbol is laid over the picture by what is always the same in it, and read by what is known
// of it. Several pictures of one label are read together.

import { CODE_LENGTH, CODE_PATH } from '../../rules/constants.js';
import { parseCode } from '../../rules/codes.js';
import { knownModules, knownWords, textIn } from './scan_worker_label.js';
import { cornersIn } from './scan_worker_corners.js';
import { symbolsAt } from './scan_worker_laying.js';
import { darkness } from './scan_worker_modules.js';
import { halved } from './scan_worker_pictures.js';
import { moduleLights } from './scan_worker_sampling.js';
import { expectedSymbol, layoutOf } from './scan_worker_symbol.js';

/**
 * @typedef {import('./scan_worker_pictures.js').Grey} Grey
 * @typedef {import('./scan_worker_sampling.js').Laid} Laid
 * @typedef {{version: number, format: import('./scan_worker_symbol.js').Format, words: Int16Array, modules: Int8Array}} Known what is known of a label's symbol
 * @typedef {{laid: Laid, soft: Float32Array, known: Known | null}} Seen
 */

/** How sure a module must be to be learnt from, at each further try. */
const SURE = [0.5, 0.3, 0.1];
/** Agreement with a known symbol, or with the picture before, above which it is that; chance gives 0 ± 0.07. */
const [KNOWN_LEAST, SAME_LEAST, SAME_BLIND_LEAST] = [0.3, 0.6, 0.75];
/** A module that is no darker or lighter than this may be either. */
const DOUBTFUL = 0.25;
/** Of its side, how far a label may move from one picture to the next. */
const MOVED_MOST = 0.5;
/** Pictures of one label that are read together. */
const TOGETHER_MOST = 12;

/** A picture wider than this is searched in two ways [px]. */
const LARGE_PX = 1400;
/** Labels of smaller modules are looked for in the whole of a large picture, of larger ones in half of its pixels. */
const SMALL_MODULE_PX = 3.6;

/** @param {Grey} grey */
export const isLarge = ({ width }) => width > LARGE_PX;

/** @param {string} text */
const isOurs = (text) =>
  !!parseCode(text).code && (text.length === CODE_LENGTH + 1 || text.toUpperCase().includes(CODE_PATH));

/** How two symbols go together where a mask is not 0, from -1 to 1. @param {ArrayLike<number>} a @param {ArrayLike<number>} b @param {(place: number) => boolean} where */
function together(a, b, where) {
  let [both, first, second] = [0, 0, 0];
  for (let place = 0; place < a.length; place += 1)
    if (where(place)) {
      both += a[place] * b[place];
      first += a[place] * a[place];
      second += b[place] * b[place];
    }
  return both / Math.sqrt(Math.max(first * second, 1e-9));
}

/** @param {string} before @returns {Known[]} */
function knownLabel(before) {
  const expected = expectedSymbol(before, CODE_LENGTH + 1);
  if (!expected) return [];
  const words = knownWords(expected);
  return [
    { version: expected.version, format: expected.format, words, modules: knownModules(expected, words) },
  ];
}

/** Reads damaged labels; remembers the last one that it could not read. */
export class DamagedLabels {
  /** @type {{laid: Laid, sum: Float32Array, looks: number, known: Known | null} | null} */
  #before = null;

  /** @param {string} address where this installation is reached; a label says it before its code */
  constructor(address) {
    this.known = [`${address}${CODE_PATH}`.toUpperCase(), ''].flatMap(knownLabel);
  }

  /** What a label in a picture says, or null; of a large picture `finely` looks for small labels, else for larger ones. @param {Grey} grey @param {boolean} [finely] */
  read(grey, finely = false) {
    const laid = symbolsAt(grey, cornersOf(grey, finely));
    for (const each of laid) {
      const text = this.#readLaid(grey, each, each === laid[0]);
      if (text) return text;
    }
    return null;
  }

  /** @param {Grey} grey @param {Laid} laid @param {boolean} best of all in this picture */
  #readLaid(grey, laid, best) {
    const { version } = laid;
    const lights = moduleLights(grey, laid);
    const { fixed } = layoutOf(version);
    const blind = darkness(lights, version, fixed);
    const known = this.#knownAs(version, blind);
    const soft = known ? darkness(lights, version, known.modules) : blind;
    const text = ownText(soft, version, known) ?? (known ? null : learnt(lights, version, fixed, blind));
    if (text || !best) return text;
    return this.#withOthers({ laid, soft, known });
  }

  /** The known sort of label that a symbol is of, or null. @param {number} version @param {Float32Array} soft */
  #knownAs(version, soft) {
    const { fixed } = layoutOf(version);
    return (
      this.known.find(
        ({ version: own, modules }) =>
          own === version &&
          together(soft, modules, (place) => !fixed[place] && modules[place] !== 0) > KNOWN_LEAST,
      ) ?? null
    );
  }

  /** Read together with the pictures before, where they are of the same label. @param {Seen} seen */
  #withOthers({ laid, soft, known }) {
    const before = this.#before;
    if (!before || !isSame(before, laid, soft, known) || before.looks >= TOGETHER_MOST) {
      this.#before = { laid, sum: soft.slice(), looks: 1, known };
      return null;
    }
    const sum = soft.map((each, place) => each + before.sum[place]);
    this.#before = { laid, sum, looks: before.looks + 1, known };
    return ownText(
      sum.map((each) => each / (before.looks + 1)),
      laid.version,
      known,
    );
  }
}

/** @param {Grey} grey @param {boolean} finely */
function cornersOf(grey, finely) {
  if (!isLarge(grey)) return cornersIn(grey);
  if (finely) return cornersIn(grey, SMALL_MODULE_PX);
  return cornersIn(halved(grey)).map(({ x, y, module, likeness }) => ({
    x: 2 * x + 0.5,
    y: 2 * y + 0.5,
    module: 2 * module,
    likeness,
  }));
}

/** @param {{laid: Laid, sum: Float32Array, looks: number, known: Known | null}} before @param {Laid} laid @param {Float32Array} soft @param {Known | null} known */
function isSame(before, laid, soft, known) {
  if (before.laid.version !== laid.version || before.known !== known) return false;
  const [x, y] = [laid.corners[0] - before.laid.corners[0], laid.corners[1] - before.laid.corners[1]];
  const side = Math.hypot(laid.corners[2] - laid.corners[0], laid.corners[3] - laid.corners[1]);
  if (Math.hypot(x, y) > MOVED_MOST * side) return false;
  const { fixed } = layoutOf(laid.version);
  // What is doubtful in one of them, behind a mirrored lamp say, tells nothing of the other.
  const open = (/** @type {number} */ place) =>
    !(known?.modules ?? fixed)[place] &&
    Math.abs(soft[place]) > DOUBTFUL &&
    Math.abs(before.sum[place]) > DOUBTFUL * before.looks;
  return together(before.sum, soft, open) > (known ? SAME_LEAST : SAME_BLIND_LEAST);
}

/** @param {Float32Array} soft @param {number} version @param {Known | null} known */
function ownText(soft, version, known) {
  const text = textIn(soft, version, known);
  return text && isOurs(text) ? text : null;
}

/** Read again, learning from the modules that seem sure. @param {Float32Array} lights @param {number} version @param {Int8Array} fixed @param {Float32Array} first */
function learnt(lights, version, fixed, first) {
  let soft = first;
  for (const sure of SURE) {
    const believed = fixed.map(
      (sign, place) => sign || (Math.abs(soft[place]) > sure ? Math.sign(soft[place]) : 0),
    );
    soft = darkness(lights, version, believed);
    const text = ownText(soft, version, null);
    if (text) return text;
  }
  return null;
}
