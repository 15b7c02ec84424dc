// The screens of a day's work by address.

import { onceHere } from '../parts/fetching.js';
import { Access } from './access.js';
import { CircuitsOfDay } from './circuits_of_day.js';
import { Picking } from './picking.js';
import { RoomOfDay } from './room_of_day.js';
import { SignOff } from './sign_off.js';
import { Today } from './today.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = onceHere([
  { path: '/s/:site/today', screen: Today },
  { path: '/s/:site/today/picking', screen: Picking },
  { path: '/s/:site/today/room/:room', screen: RoomOfDay },
  { path: '/s/:site/today/circuits', screen: CircuitsOfDay },
  { path: '/s/:site/today/access', screen: Access },
  { path: '/s/:site/sign/:subject', screen: SignOff },
]);
