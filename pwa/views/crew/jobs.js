// Released groups as jobs: what stands for each, how far it is, and the rooms in which something is to be done.

import { facet, positionsOf, Survey } from '../../rules/survey.js';
import { byOrder } from '../newest.js';
import { inFloorOrder, inWalkOrder } from '../surveying/survey.js';
import { keepsAway, standingsOf } from './standing_facts.js';

/**
 * What there is to do in one group.
 * @typedef {{room: RecordView<'room'>, group: RecordView<'group'>, kind: RecordView<'kind'> | undefined, summary: string, fixtures: number, done: number, problems: number, next: number | null,
 *   stands: import('../../rules/standing.js').Standing | undefined}} Job
 */

/** @template {string} T @param {RecordView<T>[]} records @returns {Map<string | null, RecordView<T>[]>} by parent */
function byParent(records) {
  /** @type {Map<string | null, RecordView<T>[]>} */
  const found = new Map();
  for (const record of records) {
    const beside = found.get(record.parent);
    if (beside) beside.push(record);
    else found.set(record.parent, [record]);
  }
  return found;
}

/** The newest word on each position. @param {RecordView<'installation'>[]} installations @returns {Map<number, string>} */
export function outcomes(installations) {
  const inOrder = [...installations].sort(byOrder);
  return new Map(
    inOrder.map(({ facets }) => [facets.identity?.position ?? 0, facets.identity?.outcome ?? '']),
  );
}

/** @param {RecordView<'group'>} group @param {RecordView<'room'>} room @param {RecordView<'kind'> | undefined} kind @param {RecordView<'conversion'>} conversion @param {RecordView<'installation'>[]} installations @returns {Omit<Job, 'stands'>} */
function jobOf(group, room, kind, conversion, installations) {
  const positions = positionsOf(group);
  const told = outcomes(installations);
  const { summary, arrangement } = facet(conversion, 'identity');
  return {
    room,
    group,
    kind,
    summary: summary ?? arrangement,
    fixtures: positions.length,
    done: positions.filter((each) => told.get(each) === 'done').length,
    problems: positions.filter((each) => told.get(each) === 'problem').length,
    next: positions.find((each) => told.get(each) !== 'done') ?? null,
  };
}

/** @param {RecordView<'conversion'>[]} conversions @returns {RecordView<'conversion'>} the one of the newest release */
const newestOf = (conversions) =>
  conversions.reduce((a, b) => (facet(b, 'identity').number > facet(a, 'identity').number ? b : a));

/** Every released group as a job, in the order of the walk. @param {Site} site @returns {Promise<Array<{floor: RecordView<'floor'>, jobs: Job[]}>>} */
export async function readWork(site) {
  const survey = new Survey(await site.everything());
  /** @template {RecordType} T @param {T} type @returns {RecordView<T>[]} */
  const all = (type) => /** @type {RecordView<T>[]} */ (survey.ofType(type));
  const [rooms, groups, kinds] = [all('room'), all('group'), all('kind')];
  const standings = standingsOf(survey, site.reference);
  const [groupsIn, conversionsOf, done] = /** @type {const} */ ([
    byParent(groups),
    byParent(all('conversion')),
    byParent(all('installation')),
  ]);
  const kindOf = new Map(kinds.map((kind) => [kind.id, kind]));
  /** @param {RecordView<'room'>} room */
  const jobsIn = (room) =>
    (groupsIn.get(room.id) ?? [])
      .filter((group) => conversionsOf.has(group.id))
      .map((group) => ({
        stands: standings.get(group.id),
        ...jobOf(
          group,
          room,
          kindOf.get(facet(group, 'identity').kind),
          newestOf(conversionsOf.get(group.id) ?? []),
          done.get(group.id) ?? [],
        ),
      }));
  return inFloorOrder(all('floor'))
    .map((floor) => ({
      floor,
      jobs: inWalkOrder(rooms.filter((room) => room.parent === floor.id)).flatMap(jobsIn),
    }))
    .filter(({ jobs }) => jobs.length > 0);
}

/** @typedef {{room: RecordView<'room'>, fixtures: number, left: number, path: string}} RoomOfWork `path`: below the site's address, the first fixture to do */

/**
 * Rooms in which there is something to convert, as one walks: without what must not be converted now.
 *
 * @param {Job[]} jobs @returns {RoomOfWork[]}
 */
export function roomsOf(jobs) {
  /** @type {Map<string, RoomOfWork>} */
  const found = new Map();
  for (const { room, group, fixtures, done, next, stands } of jobs) {
    if (keepsAway(stands)) continue;
    const before = found.get(room.id) ?? { room, fixtures: 0, left: 0, path: `/room/${room.id}` };
    const first = before.left === 0 && next !== null;
    found.set(room.id, {
      room,
      fixtures: before.fixtures + fixtures,
      left: before.left + fixtures - done,
      path: first ? `/fixture/${group.id}/${next}` : before.path,
    });
  }
  return [...found.values()];
}
