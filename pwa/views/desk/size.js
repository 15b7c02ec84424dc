// How large a file is, to read.

import { numberText } from '../numbers.js';
import { say } from '../words.js';

const [KB, MB] = [1e3, 1e6];

/**
 * Parts of a size: megabytes where there is at least a tenth of one, else whole kilobytes; of what is not empty one at least.
 *
 * @param {number} bytes
 * @returns {{unit: 'kilobytes' | 'megabytes', size: number, digits: number}}
 */
export function sizeOf(bytes) {
  if (bytes >= MB / 10) return { unit: 'megabytes', size: bytes / MB, digits: 1 };
  return { unit: 'kilobytes', size: Math.ceil(bytes / KB), digits: 0 };
}

/** '4.2 MB', '17 kB'. @param {number} bytes */
export function sizeText(bytes) {
  const { unit, size, digits } = sizeOf(bytes);
  return say(`desk.${unit}`, { size: numberText(size, digits) });
}
