// How much of a site is done, by known fixtures and by rooms, floor by floor. Twin: server/spanwalk/rules/points/completeness.py.

import * as constants from '../constants.js';
import { facet, fixturesOf, floorOrder, inOrder, progressOf, Survey, walkOrder } from '../survey.js';
import { heldBy } from './found.js';

/** @typedef {import('./open_points.js').OpenPoint} OpenPoint */
/** Whole percent, rounded down, so that 100 means all. @typedef {{known: number, complete: number, share_pct: number}} Share */
/**
 * @typedef {{id: string, number: string, name: string, progress: string,
 *   fixtures: {known: number, complete: number}, points: number, complete: boolean}} RoomEntry
 */
/** @typedef {{id: string, name: string, fixtures: Share, rooms: Share, points: number, in_rooms: RoomEntry[]}} FloorEntry */
/**
 * @typedef {{complete: boolean, fixtures: Share, rooms: Share, points: number, points_of_the_site: number,
 *   rooms_by_progress: Record<string, number>, floors: FloorEntry[]}} Completeness
 */

const DONE = constants.ROOM_DONE;

/**
 * Shares complete, for the site, each floor and each room; what counts as complete: see the twin.
 * @param {Iterable<ViewRecord>} records all records of the site
 * @param {OpenPoint[]} points what `openPoints` found in them
 * @returns {Completeness}
 */
export function completeness(records, points) {
  const survey = new Survey(records);
  const holds = holdsOf(survey, points);
  const rooms = [...survey.ofType('room')].sort((a, b) => walkOrder(a) - walkOrder(b) || inOrder(a.id, b.id));
  const told = rooms.map((room) => ({ room, entry: roomEntry(survey, holds, room) }));
  const floors = [...survey.ofType('floor')].sort(
    (a, b) => floorOrder(a) - floorOrder(b) || inOrder(a.id, b.id),
  );
  const everywhere = told.map(({ entry }) => entry);
  const ofSite = points.filter((point) => point.room === null).length;
  return {
    complete: everywhere.length > 0 && everywhere.every((entry) => entry.complete) && !ofSite,
    ...shares(everywhere),
    points: points.length,
    points_of_the_site: ofSite,
    rooms_by_progress: tally(everywhere.map((entry) => entry.progress).sort(inOrder)),
    floors: floors.map((floor) =>
      floorEntry(
        floor,
        told.filter(({ room }) => room.parent === floor.id).map(({ entry }) => entry),
      ),
    ),
  };
}

/** @param {string[]} words */
function tally(words) {
  /** @type {Record<string, number>} */
  const found = {};
  for (const word of words) found[word] = (found[word] ?? 0) + 1;
  return found;
}

/**
 * What the open points hold open: how many each room has, and the groups and kinds that have one.
 * @param {Survey} survey @param {OpenPoint[]} points
 */
function holdsOf(survey, points) {
  const rooms = tally(points.map((point) => point.room ?? ''));
  const records = new Set(points.map((point) => heldBy(survey, survey.get(point.record))?.id));
  return { rooms, records };
}

/** @param {ViewRecord<'group'>[]} groups */
const fixturesIn = (groups) => groups.reduce((sum, group) => sum + fixturesOf(group), 0);

/** @param {Survey} survey @param {ReturnType<typeof holdsOf>} holds @param {ViewRecord<'room'>} room @returns {RoomEntry} */
function roomEntry(survey, holds, room) {
  const groups = survey.children(room, 'group');
  const done = groups.filter(
    (group) => !holds.records.has(group.id) && !holds.records.has(facet(group, 'identity').kind ?? ''),
  );
  const [identity, progress] = [facet(room, 'identity'), progressOf(room)];
  const points = holds.rooms[room.id] ?? 0;
  return {
    id: room.id,
    number: identity.number ?? '',
    name: identity.name ?? '',
    progress: progress === 'open' && !groups.length ? 'not visited' : progress,
    fixtures: { known: fixturesIn(groups), complete: fixturesIn(done) },
    points,
    complete: DONE.includes(progress) && !points && done.length === groups.length,
  };
}

/** @param {ViewRecord<'floor'>} floor @param {RoomEntry[]} rooms @returns {FloorEntry} */
function floorEntry(floor, rooms) {
  return {
    id: floor.id,
    name: facet(floor, 'identity').name ?? '',
    ...shares(rooms),
    points: rooms.reduce((sum, room) => sum + room.points, 0),
    in_rooms: rooms,
  };
}

/** @param {RoomEntry[]} rooms */
function shares(rooms) {
  /** @param {(room: RoomEntry) => number} part */
  const sum = (part) => rooms.reduce((total, room) => total + part(room), 0);
  const fixtures = [sum((room) => room.fixtures.known), sum((room) => room.fixtures.complete)];
  return {
    fixtures: share(...fixtures),
    rooms: share(
      rooms.length,
      sum((room) => (room.complete ? 1 : 0)),
    ),
  };
}

/** @param {number[]} parts known and complete @returns {Share} */
function share(...[known, complete]) {
  return { known, complete, share_pct: known ? Math.floor((complete * 100) / known) : 0 };
}
