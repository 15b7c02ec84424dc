// Reed's and Solomon's code as QR symbols use it: what was damaged is restored, more of it where it is known to be doubtful.
// The field has 256 elements, its polynomial is x⁸ + x⁴ + x³ + x² + 1 (ISO/IEC 18004, from memory).

const POLYNOMIAL = 0x11d;
const POWERS = new Uint8Array(512);
const LOGS = new Uint8Array(256);
for (let exponent = 0, power = 1; exponent < 255; exponent += 1) {
  POWERS[exponent] = POWERS[exponent + 255] = power;
  LOGS[power] = exponent;
  power = power << 1 > 255 ? (power << 1) ^ POLYNOMIAL : power << 1;
}

/** @param {number} a @param {number} b */
const times = (a, b) => (a && b ? POWERS[LOGS[a] + LOGS[b]] : 0);
/** @param {number} a */
const inverse = (a) => POWERS[255 - LOGS[a]];
/** 2 to a power of 0 or more. @param {number} exponent */
const power = (exponent) => POWERS[exponent % 255];

/** The value of a polynomial, its lowest coefficient first. @param {number[]} polynomial @param {number} x */
const valueAt = (polynomial, x) => polynomial.reduceRight((sum, each) => times(sum, x) ^ each, 0);

/** @param {number[]} a @param {number[]} b @returns {number[]} */
function product(a, b) {
  const to = new Array(a.length + b.length - 1).fill(0);
  a.forEach((left, i) => {
    b.forEach((right, j) => {
      to[i + j] ^= times(left, right);
    });
  });
  return to;
}

/** What is left of a word at each root of the code: all 0 for a sound one. @param {Uint8Array} word @param {number} checks */
function syndromes(word, checks) {
  return Array.from({ length: checks }, (_, root) =>
    word.reduce((sum, each) => times(sum, power(root)) ^ each, 0),
  );
}

/**
 * The check words of data.
 *
 * @param {Uint8Array} data @param {number} checks how many
 * @returns {Uint8Array}
 */
export function checkWords(data, checks) {
  let generator = [1];
  for (let root = 0; root < checks; root += 1) generator = product(generator, [power(root), 1]);
  const rest = new Uint8Array(checks);
  for (const each of data) {
    const lead = each ^ rest[0];
    rest.copyWithin(0, 1);
    rest[checks - 1] = 0;
    for (let at = 0; at < checks; at += 1) rest[at] ^= times(lead, generator[checks - 1 - at]);
  }
  return rest;
}

/** The shortest register that makes the syndromes: Berlekamp and Massey. @param {number[]} sums @returns {number[]} */
function shortestRegister(sums) {
  let now = [1];
  let before = [1];
  let length = 0;
  let gap = 1;
  let last = 1;
  for (let at = 0; at < sums.length; at += 1) {
    let differs = 0;
    for (let back = 0; back <= length; back += 1) differs ^= times(now[back] ?? 0, sums[at - back] ?? 0);
    if (differs === 0) {
      gap += 1;
      continue;
    }
    const factor = times(differs, inverse(last));
    const shifted = [...new Array(gap).fill(0), ...before.map((each) => times(each, factor))];
    const next = Array.from({ length: Math.max(now.length, shifted.length) }, (_, each) => {
      return (now[each] ?? 0) ^ (shifted[each] ?? 0);
    });
    if (2 * length <= at) {
      length = at + 1 - length;
      before = now;
      last = differs;
      gap = 1;
    } else gap += 1;
    now = next;
  }
  return now.slice(0, length + 1);
}

/**
 * The word that was sent, or null: too much is damaged.
 *
 * Errors count twice against the check words, doubtful places once: what is known to be doubtful is restored twice as far.
 *
 * @param {Uint8Array} word data and check words as they were read
 * @param {number} checks how many of them, at the end, are check words
 * @param {number[]} doubtful places whose words are not to be believed
 * @param {(place: number) => boolean} [sure] places that are known: a word that differs there was not sent
 * @param {number} [spare] check words that must be left over, so that what is found is no chance
 * @returns {Uint8Array | null}
 */
export function restored(word, checks, doubtful, sure = () => false, spare = 0) {
  const sums = syndromes(word, checks);
  if (sums.every((each) => each === 0)) return word;
  /** @param {number} place */
  const locator = (place) => power(word.length - 1 - place);
  const erased = doubtful.reduce((so, place) => product(so, [1, locator(place)]), [1]);
  const errors = shortestRegister(product(erased, sums).slice(doubtful.length, checks));
  if (2 * (errors.length - 1) + doubtful.length > checks - spare) return null;
  const places = product(errors, erased);
  const sizes = product(sums, places).slice(0, checks);
  const slope = places.map((each, at) => (at % 2 ? each : 0)).slice(1);
  const to = word.slice();
  let found = 0;
  for (let place = 0; place < word.length; place += 1) {
    const back = inverse(locator(place));
    if (valueAt(places, back) !== 0) continue;
    found += 1;
    const size = times(locator(place), times(valueAt(sizes, back), inverse(valueAt(slope, back) || 1)));
    if (size && sure(place)) return null;
    to[place] ^= size;
  }
  if (found !== places.length - 1) return null;
  return syndromes(to, checks).every((each) => each === 0) ? to : null;
}
