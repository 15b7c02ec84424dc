// Which rooms go dark together: circuits on which something is left to do, with all that hangs on each.

import { SECOND_SOURCE } from '../../rules/constants.js';
import { facet, fixturesOf, isSeen } from '../../rules/survey.js';

/** @typedef {import('../../rules/survey.js').Survey} Survey */
/** @typedef {import('../crew/jobs.js').Job} Job */
/** What of a room hangs on a circuit. @typedef {{room: RecordView<'room'>, fixtures: number, left: number}} RoomOnIt */
/**
 * A circuit: `panel` and `circuit` as seen, empty where nobody has; `sharedNeutral`: another circuit's neutral is common with it;
 * `secondSource`: something on it stays live from elsewhere; `volts` as seen.
 * @typedef {{panel: string, circuit: string, volts: string[], rooms: RoomOnIt[], left: number, sharedNeutral: boolean, secondSource: boolean}} Circuit
 */

const OWN_SOURCES = ['battery-in-fixture', ...SECOND_SOURCE];

/** A panel or circuit as it was written, in one way. @param {string | undefined} text */
const plain = (text) => (isSeen(text) ? String(text).trim() : '');

/**
 * Circuits on which one of these jobs is left to do, by panel and number; that of which nothing was seen comes last.
 *
 * @param {Survey} survey @param {Job[]} jobs those of the day
 * @returns {Circuit[]}
 */
export function circuitsOf(survey, jobs) {
  const leftIn = new Map(jobs.map(({ group, left }) => [group.id, left.length]));
  /** @type {Map<string, RecordView<'group'>[]>} */
  const found = new Map();
  for (const group of survey.ofType('group')) {
    const key = keyOf(/** @type {RecordView<'group'>} */ (group));
    found.set(key, [...(found.get(key) ?? []), /** @type {RecordView<'group'>} */ (group)]);
  }
  return [...found.values()]
    .filter((groups) => groups.some(({ id }) => (leftIn.get(id) ?? 0) > 0))
    .map((groups) =>
      circuitOf(survey, isNamed(groups[0]) ? groups : groups.filter(({ id }) => leftIn.get(id)), leftIn),
    )
    .sort(byName);
}

/** @param {RecordView<'group'>} group */
const isNamed = (group) =>
  plain(facet(group, 'supply').panel) !== '' && plain(facet(group, 'supply').circuit) !== '';

/** Of what was not seen whole nobody knows what goes dark with it. @param {RecordView<'group'>} group */
function keyOf(group) {
  const { panel, circuit } = facet(group, 'supply');
  return isNamed(group) ? `${plain(panel).toLowerCase()}|${plain(circuit).toLowerCase()}` : '';
}

/** @param {Survey} survey @param {RecordView<'group'>[]} groups @param {Map<string, number>} leftIn @returns {Circuit} */
function circuitOf(survey, groups, leftIn) {
  const named = isNamed(groups[0]);
  const { panel, circuit } = facet(groups[0], 'supply');
  const supplies = groups.map((group) => facet(group, 'supply'));
  /** @type {Map<string, RoomOnIt>} */
  const rooms = new Map();
  for (const group of groups) {
    const room = /** @type {RecordView<'room'> | undefined} */ (survey.roomOf(group));
    if (!room) continue;
    const before = rooms.get(room.id) ?? { room, fixtures: 0, left: 0 };
    rooms.set(room.id, {
      room,
      fixtures: before.fixtures + fixturesOf(group),
      left: before.left + (leftIn.get(group.id) ?? 0),
    });
  }
  return {
    panel: named ? plain(panel) : '',
    circuit: named ? plain(circuit) : '',
    volts: [...new Set(supplies.map(({ volts }) => volts ?? '').filter(isSeen))].filter(Boolean).sort(),
    rooms: [...rooms.values()],
    left: [...rooms.values()].reduce((all, { left }) => all + left, 0),
    sharedNeutral: supplies.some(({ shared_neutral: shared }) => shared === 'yes'),
    secondSource: groups.some((group) => OWN_SOURCES.includes(facet(group, 'duty').emergency ?? '')),
  };
}

/** @param {Circuit} a @param {Circuit} b */
function byName(a, b) {
  if ((a.panel === '') !== (b.panel === '')) return a.panel === '' ? 1 : -1;
  const order = (/** @type {string} */ left, /** @type {string} */ right) =>
    left.localeCompare(right, undefined, { numeric: true });
  return order(a.panel, b.panel) || order(a.circuit, b.circuit);
}
