// Rooms with released work in them, as the crew walks: how many fixtures, how many of them done.

import { facet, positionsOf } from '../../rules/survey.js';
import { byOrder } from '../newest.js';

/** @typedef {{room: RecordView<'room'>, fixtures: number, left: number, path: string}} RoomOfWork `path`: below the site's address, the first fixture to do */

/** @template {string} T @param {RecordView<T>[]} records @returns {Map<string, RecordView<T>[]>} by parent */
function byParent(records) {
  /** @type {Map<string, RecordView<T>[]>} */
  const found = new Map();
  for (const record of records) {
    const parent = record.parent ?? '';
    const beside = found.get(parent);
    if (beside) beside.push(record);
    else found.set(parent, [record]);
  }
  return found;
}

/**
 * @param {Site} site @param {RecordView<'room'>[]} walk rooms as one walks
 * @returns {Promise<RoomOfWork[]>}
 */
export async function releasedRooms(site, walk) {
  const [conversions, groups, installations] = await Promise.all([
    site.all('conversion'),
    site.all('group'),
    site.all('installation'),
  ]);
  const released = new Set(conversions.map(({ parent }) => parent));
  const [groupsIn, doneIn] = [byParent(groups.filter(({ id }) => released.has(id))), byParent(installations)];
  return walk.flatMap((room) => {
    const here = groupsIn.get(room.id) ?? [];
    if (here.length === 0) return [];
    const counts = here.map((group) => countsOf(group, doneIn.get(group.id) ?? []));
    const open = counts.find(({ next }) => next !== null);
    const path = open ? `/fixture/${open.group}/${open.next}` : `/room/${room.id}`;
    return [{ room, fixtures: sum(counts, 'fixtures'), left: sum(counts, 'left'), path }];
  });
}

/** @param {RecordView<'group'>} group @param {RecordView<'installation'>[]} installations */
function countsOf(group, installations) {
  const newest = new Map(
    [...installations].sort(byOrder).map((each) => {
      const { position, outcome } = facet(each, 'identity');
      return [position, outcome];
    }),
  );
  const positions = positionsOf(group);
  const left = positions.filter((each) => newest.get(each) !== 'done');
  return { group: group.id, fixtures: positions.length, left: left.length, next: left[0] ?? null };
}

/** @param {Array<{fixtures: number, left: number}>} counts @param {'fixtures' | 'left'} what */
const sum = (counts, what) => counts.reduce((total, each) => total + each[what], 0);
