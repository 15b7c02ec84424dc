// Released groups as jobs: what stands for each, how far it is, and the rooms in which something is to be done.

import { convertedBeyondCount } from '../../rules/installing/noted.js';
import {
  DONE_AGAIN,
  differenceState,
  newestOutcomes,
  problemState,
} from '../../rules/installing/outcomes.js';
import { notReleased } from '../../rules/since_release/standing.js';
import { facet, positionsOf, Survey } from '../../rules/survey.js';
import { arrangementText } from '../coded_text.js';
import { byOrder } from '../newest.js';
import { inFloorOrder, inWalkOrder } from '../surveying/survey.js';
import { keepsAway, standingsOf } from './standing_facts.js';

/**
 * What there is to do in one group: `positions` are its fixtures, and those that are converted beyond its count; `further` those of
 * them that its release has not, which are in none of the numbers until they are done.
 * @typedef {{room: RecordView<'room'>, group: RecordView<'group'>, kind: RecordView<'kind'> | undefined, summary: string, fixtures: number, done: number, problems: number, next: number | null,
 *   conversion: RecordView<'conversion'>, positions: number[], left: number[], further: number[], told: Map<number, Noted>,
 *   stands: import('../../rules/since_release/standing.js').Standing | undefined}} Job
 */

/** What was noted last on a fixture, and what a manager said to it: `state` is 'sent-back', or how far the talk about a problem is. @typedef {{record: RecordView<'installation'>, outcome: string, state: string}} Noted */

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

/** The newest word on each position, with what was said to it. @param {Survey} survey @param {RecordView<'group'>} group @returns {Map<number, Noted>} */
export function notedIn(survey, group) {
  return new Map(
    [...newestOutcomes(survey, group)].map(([position, installation]) => {
      const record = /** @type {RecordView<'installation'>} */ (installation);
      const outcome = facet(record, 'identity').outcome ?? '';
      const state = outcome === 'problem' ? problemState(survey, record) : differenceState(survey, record);
      return [position, { record, outcome, state }];
    }),
  );
}

/** Whether there is nothing left to do on a fixture. @param {Noted | undefined} noted */
export const isDone = (noted) => noted?.outcome === 'done' && noted.state !== DONE_AGAIN;

/** @param {Survey} survey @param {RecordView<'group'>} group @param {RecordView<'room'>} room @param {RecordView<'kind'> | undefined} kind @param {RecordView<'conversion'>} conversion @param {Job['stands']} stands @returns {Job} */
function jobOf(survey, group, room, kind, conversion, stands) {
  const positions = [
    ...positionsOf(group),
    ...convertedBeyondCount(group, survey.children(group, 'installation')),
  ];
  const told = notedIn(survey, group);
  const open = positions.filter((each) => !isDone(told.get(each)));
  const further = notReleased(stands).filter((each) => open.includes(each));
  const left = open.filter((each) => !further.includes(each));
  const { summary, arrangement } = facet(conversion, 'identity');
  return {
    room,
    group,
    kind,
    conversion,
    stands,
    told,
    positions,
    left,
    further,
    summary: arrangementText(summary ?? arrangement),
    fixtures: positions.length - further.length,
    done: positions.length - open.length,
    problems: positions.filter((each) => told.get(each)?.outcome === 'problem').length,
    next: left[0] ?? null,
  };
}

/** @param {RecordView<'conversion'>[]} conversions @returns {RecordView<'conversion'>} the one of the newest release */
const newestOf = (conversions) =>
  conversions.reduce((a, b) => (facet(b, 'identity').number > facet(a, 'identity').number ? b : a));

/** Every released group as a job, in the order of the walk. @param {Site} site @returns {Promise<Array<{floor: RecordView<'floor'>, jobs: Job[]}>>} */
export async function readWork(site) {
  return workOf(new Survey(await site.everything()), site.reference);
}

/** Every released group as a job, in the order of the walk. @param {Survey} survey @param {Reference} tables @returns {Array<{floor: RecordView<'floor'>, jobs: Job[]}>} */
export function workOf(survey, tables) {
  /** @template {RecordType} T @param {T} type @returns {RecordView<T>[]} */
  const all = (type) => /** @type {RecordView<T>[]} */ (survey.ofType(type));
  const [rooms, groups, kinds] = [all('room'), all('group'), all('kind')];
  const standings = standingsOf(survey, tables);
  const [groupsIn, conversionsOf] = /** @type {const} */ ([byParent(groups), byParent(all('conversion'))]);
  const kindOf = new Map(kinds.map((kind) => [kind.id, kind]));
  /** @param {RecordView<'room'>} room */
  const jobsIn = (room) =>
    (groupsIn.get(room.id) ?? [])
      .filter((group) => conversionsOf.has(group.id))
      .map((group) =>
        jobOf(
          survey,
          group,
          room,
          kindOf.get(facet(group, 'identity').kind),
          newestOf(conversionsOf.get(group.id) ?? []),
          standings.get(group.id),
        ),
      );
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
