// Open points of rooms. Twin: server/spanwalk/rules/points/rooms.py.

import { facet, nameOfRoom, progressOf } from '../survey.js';
import { alike } from './found.js';

/** @typedef {import('./found.js').Seen} Seen */
/** @typedef {import('./found.js').Found} Found */

/** @param {Seen} seen @param {string} progress */
const roomsAt = (seen, progress) =>
  seen.survey.ofType('room').filter((room) => progressOf(room) === progress);

/** @param {Seen} seen @param {ViewRecord<'room'>} room */
const groupsIn = (seen, room) => seen.survey.children(room, 'group').length;

/** Rooms in which nobody has entered anything. @param {Seen} seen @returns {Found[]} */
export function roomNotVisited(seen) {
  const rooms = roomsAt(seen, 'open').filter((room) => !groupsIn(seen, room));
  return rooms.map((room) => ({ record: room.id, room, facts: {} }));
}

/** Rooms with groups in them that nobody has called finished. @param {Seen} seen @returns {Found[]} */
export function roomOpen(seen) {
  const rooms = roomsAt(seen, 'open').filter((room) => groupsIn(seen, room));
  return rooms.map((room) => ({ record: room.id, room, facts: { groups: groupsIn(seen, room) } }));
}

/** Rooms called surveyed in which there is no group. @param {Seen} seen @returns {Found[]} */
export function roomEmpty(seen) {
  const rooms = roomsAt(seen, 'surveyed').filter((room) => !groupsIn(seen, room));
  return rooms.map((room) => ({ record: room.id, room, facts: {} }));
}

/** Rooms into which nobody could get. @param {Seen} seen @returns {Found[]} */
export function noAccess(seen) {
  return roomsAt(seen, 'no-access').map((room) => ({
    record: room.id,
    room,
    facts: { reason: facet(room, 'progress').reason ?? '' },
  }));
}

/** Numbers that two or more rooms of the site bear; one point for a number. @param {Seen} seen @returns {Found[]} */
export function duplicateRoomNumber(seen) {
  return alike(seen.survey.ofType('room'), 'number').map(([first, ...rest]) => ({
    record: first.id,
    room: first,
    facts: {
      number: facet(first, 'identity').number,
      rooms: rest.length + 1,
      others: rest.map(nameOfRoom).join(', '),
    },
  }));
}
