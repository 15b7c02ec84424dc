// The survey's screens by address: home, rooms, kinds, and any facet's form.

import { AddGroup } from './add_group.js';
import { AddFloor, AddRoom } from './add_floor_or_room.js';
import { onceHere } from '../parts/fetching.js';
import { ChangeKind } from './change_kind.js';
import { FloorAnswers, PanelAnswers } from './floor_answers.js';
import { Home } from './home.js';
import { Kind } from './kind.js';
import { Kinds } from './kinds.js';
import { RecordForm } from './record_form.js';
import { Room, RoomRemoved } from './room.js';

/** @type {Array<{path: string, screen: ScreenPart}>} */
export const screens = onceHere([
  { path: '/s/:site', screen: Home },
  { path: '/s/:site/floor/new', screen: AddFloor },
  { path: '/s/:site/floor/:floor/add', screen: AddRoom },
  { path: '/s/:site/room/:id', screen: Room },
  { path: '/s/:site/room/:id/add', screen: AddGroup },
  { path: '/s/:site/removed/:id', screen: RoomRemoved },
  { path: '/s/:site/kinds', screen: Kinds },
  { path: '/s/:site/kind/:id', screen: Kind },
  { path: '/s/:site/floor/:floor', screen: FloorAnswers },
  { path: '/s/:site/panel/:id', screen: PanelAnswers },
  { path: '/s/:site/record/:id/change-kind', screen: ChangeKind },
  { path: '/s/:site/record/:id/:facet', screen: RecordForm },
]);
