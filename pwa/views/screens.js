// The survey's screens by address.

import { AddGroup } from './surveying/add_group.js';
import { AddFloor, AddRoom } from './surveying/add_place.js';
import { Kind } from './surveying/kind.js';
import { Kinds } from './surveying/kinds.js';
import { NotFound } from './not_found.js';
import { RecordForm } from './surveying/record_form.js';
import { Room, RoomRemoved } from './surveying/room.js';
import { SignIn } from './sign_in.js';
import { Sites } from './sites.js';
import { Walk } from './surveying/walk.js';

export { NotFound };

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = [
  { path: '/', screen: Sites },
  { path: '/sign-in', screen: SignIn },
  { path: '/s/:site', screen: Walk },
  { path: '/s/:site/floor/new', screen: AddFloor },
  { path: '/s/:site/floor/:floor/add', screen: AddRoom },
  { path: '/s/:site/room/:id', screen: Room },
  { path: '/s/:site/room/:id/add', screen: AddGroup },
  { path: '/s/:site/removed/:id', screen: RoomRemoved },
  { path: '/s/:site/kinds', screen: Kinds },
  { path: '/s/:site/kind/:id', screen: Kind },
  { path: '/s/:site/record/:id/:facet', screen: RecordForm },
];
