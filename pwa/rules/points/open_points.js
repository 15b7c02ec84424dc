// What keeps a room, a group or the site from being complete, and who can close it. Twin: server/spanwalk/rules/points/open_points.py.
// RULES names each rule, who closes what it finds, and on which screen (spec/rules.json); the rules themselves are one small
// function each in points/. A rule finds one point for one thing, never two.

import { atOnce, judging } from '../judging/judged.js';
import { judgeGroup } from '../judging/judging.js';
import { floorOrder, inOrder, nameOfRoom, Survey, walkOrder } from '../survey.js';
import { lengthsByKind } from './found.js';
import { RULES } from './open_point_rules.js';

/** @typedef {import('./found.js').Seen} Seen */
/** @typedef {import('./found.js').Found} Found */
/** @typedef {import('./found.js').Rule} Rule */
/**
 * @typedef {{rule: string, record: string, room: string | null, floor: string | null, who: string[],
 *   path: string, facts: Record<string, unknown>}} OpenPoint
 */
/**
 * What the records do not hold. `judgements` by group id, where they are at hand already.
 * @typedef {{photos_arrived?: string[] | null, devices?: import('./found.js').DeviceWork[],
 *   judgements?: Record<string, Judgement>, figures_not_used?: Seen['figuresNotUsed'],
 *   not_ready?: Seen['notReady'], lights_off?: Seen['lightsOff'], looks_mixed?: Seen['looksMixed'], kinds_held?: Seen['kindsHeld'], today?: string}} Facts
 */

export { RULES };

const RANK = new Map(RULES.map((each, place) => [each.name, place]));

/**
 * All open points of a site, in the order of the walk.
 * @param {Iterable<ViewRecord>} siteRecords all records of the site
 * @param {Facts} facts what the records do not hold
 * @param {Reference} tables reference tables, for judging and for the lengths of lamps
 * @param {typeof import('../judging/judging.js').judgeGroup} [judge] instead of `judgeGroup`
 * @returns {OpenPoint[]} `who` can close it, on the screen `path`
 */
export function openPoints(siteRecords, facts, tables, judge) {
  return atOnce(lookingForPoints(siteRecords, facts, tables, judge));
}

/**
 * The same a rule at a time: between two of them the page may do something else.
 * @param {Iterable<ViewRecord>} siteRecords all records of the site
 * @param {Facts} facts what the records do not hold
 * @param {Reference} tables reference tables, for judging and for the lengths of lamps
 * @param {typeof judgeGroup} [judge] instead of `judgeGroup`
 * @returns {Generator<void, OpenPoint[]>}
 */
export function* lookingForPoints(siteRecords, facts, tables, judge = judgeGroup) {
  const survey = new Survey(siteRecords);
  const seen = {
    survey,
    photosArrived: facts.photos_arrived ? new Set(facts.photos_arrived) : null,
    devices: facts.devices ?? [],
    judgements: facts.judgements ?? (yield* judging(survey, tables, judge)),
    lengths: lengthsByKind(survey),
    figuresNotUsed: facts.figures_not_used ?? [],
    tables,
    notReady: facts.not_ready ?? [],
    lightsOff: facts.lights_off ?? [],
    looksMixed: facts.looks_mixed ?? [],
    kindsHeld: facts.kinds_held ?? [],
    told: /** @type {{record: string, room: string | null}[]} */ ([]),
  };
  const points = [];
  for (const each of RULES) {
    const found = each.find(seen).map((one) => pointOf(survey, each, one));
    points.push(...found);
    seen.told.push(...found);
    yield;
  }
  return points.sort((a, b) => compare(placeOf(survey, a), placeOf(survey, b)));
}

/** @param {Survey} survey @param {Rule} each @param {Found} found @returns {OpenPoint} */
function pointOf(survey, each, found) {
  const floor = found.room && survey.floorOf(found.room);
  const where = { where: found.room ? nameOfRoom(found.room) : 'the site' };
  return {
    rule: each.name,
    record: found.record,
    room: found.room?.id ?? null,
    floor: floor?.id ?? null,
    who: [...each.who],
    path: each.path
      .replace('{site}', survey.site().id)
      .replace('{record}', found.record)
      .replace('{parent}', survey.get(found.record)?.parent ?? ''),
    facts: { ...where, ...found.facts },
  };
}

/** @param {Survey} survey @param {OpenPoint} point @returns {[number, number, string, number, string]} */
function placeOf(survey, point) {
  /** @type {[ViewRecord<'room'> | undefined, ViewRecord<'floor'> | undefined]} */
  const [room, floor] = [survey.get(point.room), survey.get(point.floor)];
  return [floorOrder(floor), walkOrder(room), point.room ?? '', RANK.get(point.rule) ?? 0, point.record];
}

/** @param {(number | string)[]} a @param {(number | string)[]} b */
function compare(a, b) {
  const at = a.findIndex((each, place) => each !== b[place]);
  if (at < 0) return 0;
  return typeof a[at] === 'number' ? Number(a[at]) - Number(b[at]) : inOrder(String(a[at]), String(b[at]));
}
