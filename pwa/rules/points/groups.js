// Open points of groups: count, supply, duty, positions, what does not go with kind or room. Twin: server/spanwalk/rules/points/groups.py.

import * as constants from '../constants.js';
import { lastWords } from '../installing/last_word.js';
import { ceilSqrt } from '../integer_math.js';
import { aMinTicks, lampRow } from '../measuring/reading_sense.js';
import { facet, fixturesOf, has, isPosition, isSeen, lampsEach, pushTo } from '../survey.js';
import { boundLabels, ofGroup } from './found.js';

/** @typedef {import('./found.js').Seen} Seen */
/** @typedef {import('./found.js').Found} Found */

/** Ranges that the label of a working ballast may prove. @type {readonly string[]} */
const RANGES_ON_LABELS = constants.RANGES_ON_LABELS;

/** Groups that nobody has counted. @param {Seen} seen @returns {Found[]} */
export function noCount(seen) {
  const groups = seen.survey.ofType('group').filter((group) => !fixturesOf(group));
  return groups.map((group) => ofGroup(seen, group));
}

/** Groups whose count was marked doubtful. @param {Seen} seen @returns {Found[]} */
export function doubtfulCount(seen) {
  const groups = seen.survey.ofType('group').filter((group) => facet(group, 'count').sure === 'doubtful');
  return groups.map((group) => ofGroup(seen, group, { count: fixturesOf(group) }));
}

/**
 * Groups to be converted whose supply volts nobody has seen, and of which no ballast's label proves a range.
 * @param {Seen} seen @returns {Found[]}
 */
export function noVolts(seen) {
  const proves = (/** @type {ViewRecord<'group'>} */ group) =>
    RANGES_ON_LABELS.includes(facet(seen.survey.kindOf(group), 'ballast').volts_mark ?? '');
  const groups = seen.survey
    .groupsToConvert()
    .filter((group) => !isSeen(facet(group, 'supply').volts) && !proves(group));
  return groups.map((group) => ofGroup(seen, group));
}

/** Groups to be converted of which nobody has said whether some are emergency fixtures. @param {Seen} seen @returns {Found[]} */
export function emergencyNotSeen(seen) {
  const groups = seen.survey.groupsToConvert().filter((group) => !isSeen(facet(group, 'duty').emergency));
  return groups.map((group) => ofGroup(seen, group));
}

/** Groups of one kind in one room that do not say how they differ; one point for a room and kind. @param {Seen} seen @returns {Found[]} */
export function groupsDoNotDiffer(seen) {
  /** @type {Map<string, ViewRecord<'group'>[]>} */
  const sets = new Map();
  for (const group of seen.survey.ofType('group')) {
    const identity = facet(group, 'identity');
    const said = String(identity.note || facet(group, 'differs').note || '')
      .trim()
      .toLowerCase();
    pushTo(sets, JSON.stringify([group.parent, identity.kind ?? '', said]), group);
  }
  const same = [...sets.values()].filter((groups) => groups.length > 1);
  return same.map((groups) => ofGroup(seen, groups[0], { groups: groups.length }));
}

/** Groups in which something is said of a fixture that they do not have; one point for a group. @param {Seen} seen @returns {Found[]} */
export function positionAboveCount(seen) {
  /** @type {Map<string, number[]>} */
  const labels = new Map();
  for (const label of boundLabels(seen)) {
    const { group = '', position = 0 } = facet(label, 'binding');
    pushTo(labels, group, position);
  }
  return seen.survey.ofType('group').flatMap((group) => {
    const said = [...(labels.get(group.id) ?? []), ...positionsIn(seen, group)];
    const beyond = [...new Set(said)]
      .filter((position) => !isPosition(group, position))
      .sort((a, b) => a - b);
    const facts = { positions: beyond.join(', '), count: fixturesOf(group) };
    return beyond.length && fixturesOf(group) ? [ofGroup(seen, group, facts)] : [];
  });
}

/** @param {Seen} seen @param {ViewRecord<'group'>} group @returns {number[]} */
function positionsIn(seen, group) {
  const readings = seen.survey.children(group, 'cavity_reading').filter((each) => !has(each, 'voided'));
  const said = readings.map((record) => facet(record, 'identity').position ?? 0);
  return [...said, ...workedAt(seen, group), ...(facet(group, 'duty').emergency_positions ?? [])];
}

/** Fixtures at which crews noted something that holds; see the twin. @param {Seen} seen @param {ViewRecord<'group'>} group @returns {number[]} */
function workedAt({ survey }, group) {
  const holds = [...lastWords(survey.children(group, 'installation'))]
    .filter(([, each]) => facet(each, 'identity').outcome !== constants.TAKEN_BACK)
    .map(([position]) => position);
  const tested = survey
    .children(group, 'emergency_test')
    .map((each) => facet(each, 'identity').position ?? 0);
  const { gone = [] } = facet(group, 'count');
  return [...holds, ...tested].filter((position) => !gone.includes(position));
}

/** Groups with more dark lamps than lamps: the count, the dark ones, or the rows of the kind are wrong. @param {Seen} seen @returns {Found[]} */
export function darkLampsAboveLamps(seen) {
  return seen.survey.ofType('group').flatMap((group) => {
    const lamps = fixturesOf(group) * lampsEach(seen.survey.kindOf(group));
    const dark = facet(group, 'count').dark_lamps ?? 0;
    return lamps && dark > lamps ? [ofGroup(seen, group, { dark_lamps: dark, lamps })] : [];
  });
}

/** Groups whose lamps, or a reading of a cavity, are longer than the room is from corner to corner [1/320 mm]. @param {Seen} seen @returns {Found[]} */
export function longerThanRoom(seen) {
  return seen.survey.groupsToConvert().flatMap((group) => {
    const { length_ticks: length, width_ticks: width } = facet(seen.survey.roomOf(group), 'size');
    if (length === undefined || width === undefined) return [];
    const longest = Math.max(lampsTicks(seen, group), ...lengthsIn(seen, group));
    const across = ceilSqrt(BigInt(length) ** 2n + BigInt(width) ** 2n);
    return longest > across ? [ofGroup(seen, group, { longest_ticks: longest, across_ticks: across })] : [];
  });
}

/** The lamps end to end in a row, as short as they are made; 0 where they are not known. @param {Seen} seen @param {ViewRecord<'group'>} group @returns {number} */
function lampsTicks({ survey, tables }, group) {
  const lamps = facet(survey.kindOf(group), 'lamps');
  const row = tables.lamps ? lampRow(lamps, tables) : null;
  return row ? aMinTicks(row) * (lamps.lamps_end_to_end ?? 1) : 0;
}

/** @param {Seen} seen @param {ViewRecord<'group'>} group @returns {number[]} */
const lengthsIn = (seen, group) =>
  seen.survey.readingsOf(group).map((reading) => facet(reading, 'identity').length_ticks);
