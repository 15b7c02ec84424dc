// Screens of measuring and settling, by address.

import { Group } from './group.js';
import { ReadCavity } from './tape-pad.js';

/** @type {Array<{path: string, screen: any}>} */
export const screens = [
  { path: '/s/:site/group/:id', screen: Group },
  { path: '/s/:site/group/:id/read', screen: ReadCavity },
];
