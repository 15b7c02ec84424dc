// When something that is not here yet is to come, in words.

import { dayText } from '../numbers.js';
import { say } from '../words.js';

/** @param {import('./orders.js').Expected} expected */
export function expectedText({ on, isSent }) {
  if (on) return say('receive.expected', { day: dayText(on) });
  return say(isSent ? 'receive.expected-unknown' : 'receive.order-not-sent');
}
