// The screen of a group, by its address: apart, so that who opens a link to one waits for nothing that only others need.

import { onceHere } from '../parts/fetching.js';
import { Group } from './group.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = onceHere([{ path: '/s/:site/group/:id', screen: Group }]);
