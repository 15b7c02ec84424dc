// The screens of the acceptance by address.

import { onceHere } from '../parts/fetching.js';
import { Acceptance } from './acceptance.js';
import { Walk } from './walk.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = onceHere([
  { path: '/s/:site/accept', screen: Acceptance },
  { path: '/s/:site/accept/:subject', screen: Walk },
]);
