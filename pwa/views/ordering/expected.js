// When something that is not here yet is to come, in words.

import { dayText } from '../numbers.js';
import { say } from '../words.js';

/** @param {string | null} day null: nothing is to come, or nobody can tell when */
export const expectedText = (day) =>
  day ? say('receive.expected', { day: dayText(day) }) : say('receive.expected-unknown');
