// The day as screens of it read it: the work that is left, who has which room, and what was signed.

import { store } from '../../store/store.js';
import { Survey } from '../../rules/survey.js';
import { workOf } from '../crew/jobs.js';
import { keepsAway } from '../crew/standing_facts.js';
import { dayOf, heldBefore, holdersOn, holds } from './days.js';

/** @typedef {import('../crew/jobs.js').Job} Job */
/** @typedef {Awaited<ReturnType<typeof readDay>>} Day */

/** Work that may be done, in the order of the walk, and what is left that may not for now; who has which room today. @param {Site} site @param {Date} [now] */
export async function readDay(site, now = new Date()) {
  const survey = new Survey(await site.everything());
  const floors = workOf(survey, site.reference);
  const every = floors.flatMap((floor) => floor.jobs);
  const jobs = every.filter(({ stands }) => !keepsAway(stands));
  const day = dayOf(now);
  const assignments = /** @type {RecordView<'assignment'>[]} */ (survey.ofType('assignment'));
  const holders = holdersOn(assignments, day);
  const before = heldBefore(assignments, day, store.person);
  const mine = jobs.filter(({ room }) => holds(holders.get(room.id), store.person));
  return {
    survey,
    day,
    holders,
    floors,
    jobs,
    mine,
    stopped: every.filter(({ stands, left }) => keepsAway(stands) && left.length > 0),
    // Of an earlier day, not finished, and nobody's today.
    unfinished: jobs.filter(
      ({ room, left }) => before.has(room.id) && left.length > 0 && !holders.has(room.id),
    ),
    pickings: /** @type {RecordView<'picking'>[]} */ (survey.ofType('picking')),
  };
}

/**
 * What a list is about, as its address says: one room, one floor, or the day. A day without rooms of one's own is all
 * that somebody has today, and where nobody has any, all that is released.
 *
 * @param {Day} day @param {string} search
 * @returns {{jobs: Job[], stopped: Job[], of: RecordView<'room'> | RecordView<'floor'> | null, whose: 'mine' | 'taken' | 'all' | 'place'}} `stopped`: what is left there and may not be done for now
 */
export function scopeOf(day, search) {
  const asked = new URLSearchParams(search);
  const [room, floor] = [asked.get('room'), asked.get('floor')];
  if (room || floor) {
    const isThere = (/** @type {Job} */ job) => (room ? job.room.id === room : job.room.parent === floor);
    const of = /** @type {RecordView<'room'> | RecordView<'floor'> | undefined} */ (
      day.survey.get(room ?? floor)
    );
    return {
      jobs: day.jobs.filter(isThere),
      stopped: day.stopped.filter(isThere),
      of: of ?? null,
      whose: 'place',
    };
  }
  const { stopped } = day;
  if (day.mine.length > 0) return { jobs: day.mine, stopped, of: null, whose: 'mine' };
  const taken = day.jobs.filter((job) => day.holders.has(job.room.id));
  return taken.length > 0
    ? { jobs: taken, stopped, of: null, whose: 'taken' }
    : { jobs: day.jobs, stopped, of: null, whose: 'all' };
}

/** Rooms with their jobs, in the order of the walk. @param {Job[]} jobs @returns {Array<{room: RecordView<'room'>, jobs: Job[], fixtures: number, left: number}>} */
export function byRoom(jobs) {
  /** @type {Map<string, Job[]>} */
  const found = new Map();
  for (const job of jobs) found.set(job.room.id, [...(found.get(job.room.id) ?? []), job]);
  return [...found.values()].map((here) => ({
    room: here[0].room,
    jobs: here,
    fixtures: here.reduce((all, { fixtures }) => all + fixtures, 0),
    left: here.reduce((all, { left }) => all + left.length, 0),
  }));
}

/** How many groups of a room have fixtures left that must not be converted for now. @param {Day} day @param {string} room */
export const stoppedIn = ({ stopped, jobs }, room) =>
  [...stopped, ...jobs.filter(({ further }) => further.length > 0)].filter((job) => job.room.id === room)
    .length;
