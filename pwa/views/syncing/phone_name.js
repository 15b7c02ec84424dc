// What people call a phone: the first letters of its id; the phone in the hand is 'this phone'.
import { say } from '../words.js';

const LETTERS = 4;

/**
 * @param {string | null | undefined} device its id, or an operation's, which begins with it
 * @param {string} [own] id of the phone in the hand
 */
export function phoneName(device, own) {
  if (!device) return '';
  return own && device.startsWith(own)
    ? say('sync.this-phone')
    : say('sync.phone', { letters: device.slice(0, LETTERS).toUpperCase() });
}
