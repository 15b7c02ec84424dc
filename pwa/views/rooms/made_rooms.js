// Rooms about to be made: what is wrong with each, which are left out, and the drafts that make them. Pure.

import { sameNumber } from './room_numbers.js';

/** @typedef {{number: string, name: string, space?: string, take?: boolean}} RoomToMake `take`: ticked or unticked by hand */

/**
 * Rooms that bear each number.
 *
 * @param {RecordView<'room'>[]} rooms
 * @returns {Map<string, RecordView<'room'>[]>}
 */
export function numbersInUse(rooms) {
  /** @type {Map<string, RecordView<'room'>[]>} */
  const found = new Map();
  for (const room of rooms) {
    const number = sameNumber(room.facets.identity?.number);
    if (number) found.set(number, [...(found.get(number) ?? []), room]);
  }
  return found;
}

/**
 * What is to be said of each room of a list, and whether it can be made at all.
 *
 * @param {RoomToMake[]} rooms @param {Map<string, RecordView<'room'>[]>} used @param {{number: number, name: number}} most letters
 * @param {(room: RecordView<'room'>) => string} where
 * @returns {Array<{told: Reason | null, doubled: boolean, cannot: boolean}>} `doubled`: its number is there already
 */
export function judgedRooms(rooms, used, most, where) {
  const seen = new Set();
  return rooms.map(({ number, name }) => {
    const key = sameNumber(number);
    const [there] = (key && used.get(key)) || [];
    const again = key !== '' && seen.has(key);
    seen.add(key);
    const cannot = formOf(number.trim(), name.trim(), most);
    if (cannot) return { told: cannot, doubled: false, cannot: true };
    if (there)
      return {
        told: { code: 'rooms.same-number', facts: { number: number.trim(), where: where(there) } },
        doubled: true,
        cannot: false,
      };
    if (again)
      return {
        told: { code: 'rooms.twice-here', facts: { number: number.trim() } },
        doubled: true,
        cannot: false,
      };
    return { told: null, doubled: false, cannot: false };
  });
}

/** @param {string} number @param {string} name @param {{number: number, name: number}} most @returns {Reason | null} */
function formOf(number, name, most) {
  if (!number && !name) return { code: 'rooms.no-number-or-name', facts: {} };
  if (number.length > most.number) return { code: 'rooms.number-long', facts: { most: most.number } };
  return name.length > most.name ? { code: 'rooms.name-long', facts: { most: most.name } } : null;
}

/** Whether a room is made: doubled ones only where somebody ticked them. @param {RoomToMake} room @param {{doubled: boolean, cannot: boolean}} judged */
export const isTaken = (room, { doubled, cannot }) => !cannot && (room.take ?? !doubled);

/**
 * The drafts of rooms on a floor, after those that are there.
 *
 * @param {RoomToMake[]} rooms @param {string} floor @param {number} last highest place in the walk there
 * @param {() => string} newId
 * @returns {Draft[]}
 */
export function roomDrafts(rooms, floor, last, newId) {
  return rooms.flatMap(({ number, name, space }, place) => {
    const record = newId();
    /** @param {string} facet @param {Value} value */
    const draft = (facet, value) => ({ record, type: 'room', facet, value, seen: null });
    const identity = {
      parent: floor,
      ...(number.trim() && { number: number.trim() }),
      ...(name.trim() && { name: name.trim() }),
      ...(space && { space_type: space }),
    };
    return [
      draft('identity', identity),
      draft('progress', { progress: 'open' }),
      draft('walk', { order: last + place + 1 }),
    ];
  });
}
