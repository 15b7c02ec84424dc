// Which room comes next in the walk, and how many are left. Pure.

/** @typedef {RecordView<'room'>} Room */

const FINISHED = new Set(['surveyed', 'nothing-to-convert', 'no-access']);

/** Whether nobody needs to go there again for the survey. @param {Room} room */
export const isFinished = (room) => FINISHED.has(room.facets.progress?.progress ?? '');

/**
 * All rooms as one walks them: floor by floor.
 *
 * @param {RecordView<'floor'>[]} floors in order @param {Room[]} rooms in walk order
 */
export function alongTheWalk(floors, rooms) {
  const on = byFloor(rooms);
  return floors.flatMap((floor) => on.get(floor.id) ?? []);
}

/** Rooms by the floor that they are on, in the order in which they come. @param {Room[]} rooms @returns {Map<string, Room[]>} */
export function byFloor(rooms) {
  /** @type {Map<string, Room[]>} */
  const found = new Map();
  for (const room of rooms) {
    const beside = found.get(room.parent ?? '');
    if (beside) beside.push(room);
    else found.set(room.parent ?? '', [room]);
  }
  return found;
}

/**
 * The room to go on with: where one was, while it is not finished; else the next after it, and from the start again.
 *
 * @param {Room[]} walk @param {string | null} last id of the room where one was
 * @param {(room: Room) => boolean} [left] whether there is something to do in it
 * @returns {Room | null} null: nothing is left
 */
export function nextRoom(walk, last, left = (room) => !isFinished(room)) {
  const at = Math.max(
    0,
    walk.findIndex(({ id }) => id === last),
  );
  return [...walk.slice(at), ...walk.slice(0, at)].find(left) ?? null;
}
