// Screens of finding one's way, by address.

import { onceHere } from '../parts/fetching.js';
import { Find } from './find.js';
import { More } from './more.js';
import { WhatIsNew } from './what_is_new.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = [
  ...onceHere([
    { path: '/s/:site/find', screen: Find },
    { path: '/s/:site/new', screen: WhatIsNew },
  ]),
  { path: '/s/:site/more', screen: More },
];
