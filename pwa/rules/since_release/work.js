// What is to be done and where: emergency units, positions, decisions, progress. Twin: server/spanwalk/rules/since_release/work.py.

import * as constants from '../constants.js';
import { isPosition, positionsOf } from '../survey.js';
import { before, change, itemOf, itemsOf, LOOK, now, STOP, saidBy, same } from './seen.js';

/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./seen.js').Change} Change */
/** @template {string} [T=string] @typedef {import('../survey.js').ViewRecord<T>} ViewRecord */

const BY_NAME = constants.BY_NAME;
/** What a manager accepts by a check box, and with a reason: without one nothing was accepted. @type {readonly string[]} */
const ACCEPTED = constants.ACCEPTED;
const NO_DECISION = [null, 'convert-as-recommended', BY_NAME];

/** @param {Seen} seen @returns {Change[]} */
export function emergencyTime(seen) {
  const [from, to] = [
    before(seen, 'site', 'settings', 'emergency_min'),
    now(seen, 'site', 'settings', 'emergency_min'),
  ];
  const lasts = itemsOf(seen, 'packs').map((id) => itemOf(seen, id).duration_min);
  if (from === to || to === null || !lasts.some((each) => each < to)) return [];
  return [change('site.settings.emergency_min', STOP, from, to, saidBy(seen.records.site, 'settings'))];
}

/** @param {number[]} numbers */
const ascending = (numbers) => [...numbers].sort((a, b) => a - b);

/** @param {Seen} seen @returns {Change[]} */
export function emergencyPositions(seen) {
  /** @type {number[]} */
  const from = before(seen, 'group', 'duty', 'emergency_positions') ?? [];
  /** @type {number[]} */
  const to = now(seen, 'group', 'duty', 'emergency_positions') ?? [];
  const differ = [...from.filter((each) => !to.includes(each)), ...to.filter((each) => !from.includes(each))];
  if (differ.length === 0) return [];
  const concerns = seen.position === null || differ.includes(seen.position);
  const said = saidBy(seen.records.group, 'duty');
  return [
    change('group.duty.emergency_positions', concerns ? STOP : LOOK, ascending(from), ascending(to), said),
  ];
}

/** A fixture that is there no more stops where it hung; that others are gone is looked at. @param {Seen} seen @returns {Change[]} */
export function position(seen) {
  const { group } = seen.records;
  const said = saidBy(group, 'count');
  const from = ascending(before(seen, 'group', 'count', 'gone') ?? []);
  const to = ascending(now(seen, 'group', 'count', 'gone') ?? []);
  if (seen.position !== null && !isPosition(group, seen.position))
    return [change('position', STOP, seen.position, null, said)];
  return same(from, to) ? [] : [change('group.count.gone', LOOK, from, to, said)];
}

/** Fixtures of a group that were not among those released; see the twin. @param {ViewRecord<'group'>} group @param {Partial<FrozenFacts>} facts @returns {number[]} */
export function furtherFixtures(group, facts) {
  const { count } = facts.group ?? {};
  if (!count?.count) return [];
  const released = /** @type {ViewRecord<'group'>} */ ({ ...group, facets: { count } });
  return positionsOf(group).filter((each) => !isPosition(released, each));
}

/** A fixture that was not among those released stops by itself; that there are some is looked at. @param {Seen} seen @returns {Change[]} */
export function notInRelease({ records: { group }, facts, position: at }) {
  const further = furtherFixtures(group, facts);
  const said = saidBy(group, 'count');
  if (at === null) return further.length === 0 ? [] : [change('not-in-release', LOOK, null, further, said)];
  return further.includes(at) ? [change('not-in-release', STOP, null, [at], said)] : [];
}

/** @param {Seen} seen @returns {Change[]} */
export function decision(seen) {
  const said = saidBy(seen.records.group, 'decision');
  /** @param {string} field */
  const both = (field) => [before(seen, 'group', 'decision', field), now(seen, 'group', 'decision', field)];
  const [from, to] = both('decision');
  const [, name] = both('arrangement');
  const released = seen.facts.arrangement ?? null;
  const found = [];
  if (to === BY_NAME && name !== released)
    found.push(change('group.decision.arrangement', STOP, released, name, said));
  else if (!NO_DECISION.includes(to)) found.push(change('group.decision.decision', STOP, from, to, said));
  const [, reason] = both('reason');
  for (const field of ACCEPTED) {
    const [accepted, accepts] = both(field);
    if (!accepted || (accepts && reason?.trim())) continue;
    found.push(change(`group.decision.${field}`, STOP, true, accepts ? 'without-a-reason' : null, said));
  }
  return found;
}

/** @param {Seen} seen @returns {Change[]} */
export function progress(seen) {
  const [from, to] = [
    before(seen, 'room', 'progress', 'progress'),
    now(seen, 'room', 'progress', 'progress'),
  ];
  const weight = { 'nothing-to-convert': STOP, 'no-access': LOOK }[/** @type {string} */ (to)];
  if (!weight || from === to) return [];
  return [change('room.progress.progress', weight, from, to, saidBy(seen.records.room, 'progress'))];
}
