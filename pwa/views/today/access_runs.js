// Platform runs: which fixtures are reached how, grouped so that a platform or a ladder is moved once.

import { facet } from '../../rules/survey.js';

/** @typedef {import('../crew/jobs.js').Job} Job */
/** @typedef {{room: RecordView<'room'>, left: number, heightTicks: number | null}} RoomOfRun */
/** Rooms of one floor with one access, in the order of the walk; `highestTicks`: the highest ceiling that is known [1/320 mm]. @typedef {{access: string, floor: string | null, rooms: RoomOfRun[], left: number, highestTicks: number | null}} Run */

/** What has to be fetched comes first; what was not seen has to be looked at before. */
const ACCESSES = ['platform', 'ladder', 'reach', 'blocked', 'not-seen'];

/**
 * @param {Job[]} jobs those of the day, in the order of the walk
 * @returns {Run[]} by access, then by floor as it is walked
 */
export function runsOf(jobs) {
  /** @type {Map<string, Run>} */
  const runs = new Map();
  for (const { room, left } of jobs.filter((job) => job.left.length > 0)) {
    const access = facet(room, 'ceiling').access ?? 'not-seen';
    const key = `${access}|${room.parent}`;
    const run = runs.get(key) ?? { access, floor: room.parent, rooms: [], left: 0, highestTicks: null };
    runs.set(key, withRoom(run, room, left.length));
  }
  return [...runs.values()].sort((a, b) => ACCESSES.indexOf(a.access) - ACCESSES.indexOf(b.access));
}

/** @param {Run} run @param {RecordView<'room'>} room @param {number} left @returns {Run} */
function withRoom(run, room, left) {
  const heightTicks = facet(room, 'size').height_ticks ?? null;
  const before = run.rooms.find((each) => each.room.id === room.id);
  const others = run.rooms.filter((each) => each !== before);
  const heights = [run.highestTicks, heightTicks].filter((each) => each !== null);
  return {
    ...run,
    rooms: [...others, { room, left: left + (before?.left ?? 0), heightTicks }],
    left: run.left + left,
    highestTicks: heights.length > 0 ? Math.max(...heights) : null,
  };
}
