// SHA-256 of a text at once, without waiting: within a transaction nothing else may be waited for. FIPS 180-4, section 6.2.

const BLOCK_BYTES = 64;
const LENGTH_BYTES = 8;

/** The first 32 bits of the fraction of a root, as FIPS 180-4 (4.2.2, 5.3.3) makes its constants. @param {number} root */
const fraction = (root) => ((root - Math.floor(root)) * 0x100000000) >>> 0;

/** The first primes. @param {number} count */
function primes(count) {
  /** @type {number[]} */
  const found = [];
  for (let each = 2; found.length < count; each += 1)
    if (found.every((prime) => each % prime !== 0)) found.push(each);
  return found;
}

const ROUNDS = Uint32Array.from(primes(64), (prime) => fraction(Math.cbrt(prime)));
const START = Uint32Array.from(primes(8), (prime) => fraction(Math.sqrt(prime)));
const schedule = new Uint32Array(64);
const encoder = new TextEncoder();

/**
 * SHA-256 of a text in UTF-8.
 *
 * @param {string} text
 * @returns {Uint32Array} eight words of 32 bits, the most significant first
 */
export function sha256Words(text) {
  const bytes = encoder.encode(text);
  const blocks = Math.ceil((bytes.length + 1 + LENGTH_BYTES) / BLOCK_BYTES);
  const padded = new Uint8Array(blocks * BLOCK_BYTES);
  padded.set(bytes);
  padded[bytes.length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 8, Math.floor((bytes.length * 8) / 0x100000000));
  view.setUint32(padded.length - 4, (bytes.length * 8) >>> 0);
  const state = START.slice();
  for (let at = 0; at < padded.length; at += BLOCK_BYTES) compress(state, view, at);
  return state;
}

/** @param {Uint32Array} state changed in place @param {DataView} view @param {number} at */
function compress(state, view, at) {
  for (let i = 0; i < 16; i += 1) schedule[i] = view.getUint32(at + 4 * i);
  for (let i = 16; i < 64; i += 1) {
    const a = schedule[i - 15];
    const b = schedule[i - 2];
    const low = ((a >>> 7) | (a << 25)) ^ ((a >>> 18) | (a << 14)) ^ (a >>> 3);
    const high = ((b >>> 17) | (b << 15)) ^ ((b >>> 19) | (b << 13)) ^ (b >>> 10);
    schedule[i] = schedule[i - 16] + low + schedule[i - 7] + high;
  }
  let [a, b, c, d, e, f, g, h] = state;
  for (let i = 0; i < 64; i += 1) {
    const high = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
    const first = (h + high + ((e & f) ^ (~e & g)) + ROUNDS[i] + schedule[i]) | 0;
    const low = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
    const second = (low + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    h = g;
    g = f;
    f = e;
    e = (d + first) | 0;
    d = c;
    c = b;
    b = a;
    a = (first + second) | 0;
  }
  state[0] += a;
  state[1] += b;
  state[2] += c;
  state[3] += d;
  state[4] += e;
  state[5] += f;
  state[6] += g;
  state[7] += h;
}
