// Screens of photos and floor plans, by address.

import { onceHere } from '../parts/fetching.js';
import { PlansOfFloor } from '../plans_of_floors/plans_of_floor.js';
import { PhotoView } from './photo_view.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = onceHere([
  { path: '/s/:site/photo/:id', screen: PhotoView },
  { path: '/s/:site/plans/:floor', screen: PlansOfFloor },
]);
