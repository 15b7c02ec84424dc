// What people call a phone: the first letters of its id; the phone in the hand is 'this phone'.

const LETTERS = 4;

/**
 * @param {string | null | undefined} device its id, or an operation's, which begins with it
 * @param {string} [own] id of the phone in the hand
 */
export function phoneName(device, own) {
  if (!device) return '';
  return own && device.startsWith(own) ? 'this phone' : `phone ${device.slice(0, LETTERS).toUpperCase()}`;
}
