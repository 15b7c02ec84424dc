// Screens of many rooms at once, by address.

import { onceHere } from '../parts/fetching.js';
import { CopyFloor } from './copy_floor.js';
import { FloorActions } from './floor_actions.js';
import { OrderRooms } from './order_rooms.js';
import { SeveralRooms } from './several_rooms.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = onceHere([
  { path: '/s/:site/floors/:floor', screen: FloorActions },
  { path: '/s/:site/floors/:floor/several', screen: SeveralRooms },
  { path: '/s/:site/floors/:floor/copy', screen: CopyFloor },
  { path: '/s/:site/floors/:floor/order', screen: OrderRooms },
]);
