// What a customer signs, line by line; what has changed since. Twin: server/spanwalk/rules/installing/acceptance.py, which describes the form.

import { facet, inOrder, markOf, nameOfRoom, pushTo } from '../survey.js';
import { fittedItems, releasedAt } from './as_fitted.js';
import { byPlace } from './outcomes.js';
import { handedOver, isOpen, punchList, ranges, roomsInOrder, stateOf } from './punch_list.js';

/** @typedef {import('../survey.js').Survey} Survey */
/** @template {string} [T=string] @typedef {import('../survey.js').ViewRecord<T>} ViewRecord */
/** @typedef {import('./punch_list.js').Point} Point */
/** @typedef {import('./punch_list.js').HandedOver} HandedOver */
/** What is shown and signed: its lines, and what they count. @typedef {{lines: string[], fixtures: number, done: number, open: number}} Statement */

const HEAD = 'spanwalk-acceptance\t1';
const [ROOM, FIXTURES, LIGHT, POINT] = ['room', 'fixtures', 'light', 'point'];
const OPEN = 'open';
const DIGITS = 4;

/** What is signed of a site, floor or room, as it stands now. @param {Survey} survey @param {string} subject @param {Point[]} [listed] the punch list of the site, for who asks for many @returns {Statement} */
export function statement(survey, subject, listed = punchList(survey)) {
  const covered = survey.get(subject);
  const rooms = roomsInOrder(survey).filter((room) => covered && isIn(room, covered));
  /** @type {Map<string, Point[]>} */
  const points = new Map();
  for (const point of listed) pushTo(points, point.room, point);
  const told = { lines: [HEAD, covers(subject, covered)], fixtures: 0, done: 0, open: 0 };
  for (const room of rooms) {
    const here = handedOver(survey, room);
    const ofRoom = points.get(room.id) ?? [];
    if (here.length + ofRoom.length > 0) told.lines.push(...linesOf(survey, room, here, ofRoom));
    const noted = here.flatMap((group) => [...group.noted.values()]);
    told.fixtures += noted.length;
    told.done += noted.filter(({ done }) => done).length;
    told.open += ofRoom.filter(isOpen).length;
  }
  return told;
}

/** The text of which the SHA-256 is made, as UTF-8: a line feed behind each line. @param {string[]} lines */
export const textOf = (lines) => lines.map((line) => `${line}\n`).join('');

/** The lines that a signature was put to. @param {ViewRecord<'acceptance'>} acceptance @returns {string[]} */
export function linesSigned(acceptance) {
  const { shown } = facet(acceptance, 'identity');
  return Array.isArray(shown) ? shown.map(String) : [];
}

/** What has changed since somebody signed: lines that are gone, and lines that have come. @param {ViewRecord<'acceptance'>} acceptance @param {Statement} now @returns {{was: string[], now: string[]}} */
export function since(acceptance, now) {
  const before = linesSigned(acceptance);
  const [there, here] = [new Set(before), new Set(now.lines)];
  return {
    was: before.filter((line) => !here.has(line)),
    now: now.lines.filter((line) => !there.has(line)),
  };
}

/** Every signature of a site, the oldest first; each stands, two of one room too. @param {Survey} survey @returns {ViewRecord<'acceptance'>[]} */
export const acceptances = (survey) => [...survey.ofType('acceptance')].sort(byPlace);

/** @param {ViewRecord<'room'>} room @param {ViewRecord} covered */
const isIn = (room, covered) =>
  covered.type === 'site' || covered.id === room.id || covered.id === room.parent;

/** @param {string} subject @param {ViewRecord | undefined} covered */
function covers(subject, covered) {
  if (!covered) return lineOf('covers', '', subject, '');
  const identity = /** @type {{name?: string}} */ (covered.facets.identity ?? {});
  const name =
    covered.type === ROOM
      ? nameOfRoom(/** @type {ViewRecord<'room'>} */ (covered))
      : String(identity.name || '');
  return lineOf('covers', covered.type, subject, name);
}

/** @param {Survey} survey @param {ViewRecord<'room'>} room @param {HandedOver[]} here @param {Point[]} points @returns {string[]} */
function linesOf(survey, room, here, points) {
  const floor = facet(survey.floorOf(room), 'identity').name ?? '';
  return [
    lineOf(ROOM, room.id, floor, nameOfRoom(room)),
    ...here.flatMap((each) => linesOfGroup(survey, each)),
    ...linesOfLight(survey, room),
    ...points.map((point) =>
      lineOf(POINT, room.id, point.sort, point.group, ranges(point.positions), point.how || OPEN, point.key),
    ),
  ];
}

/** @param {Survey} survey @param {HandedOver} about @returns {string[]} */
function linesOfGroup(survey, { group, noted }) {
  const mark = markOf(survey.kindOf(group));
  /** @type {Array<{state: string, items: string, positions: number[]}>} */
  const alike = [];
  for (const [position, here] of noted) {
    const [state, items] = [stateOf(here), itemsOf(here, position, noted.size)];
    const last = alike.at(-1);
    if (last && last.state === state && last.items === items) last.positions.push(position);
    else alike.push({ state, items, positions: [position] });
  }
  return alike.map(({ state, items, positions }) =>
    lineOf(FIXTURES, group.id, mark, ranges(positions), state, items),
  );
}

/** @param {import('./noted.js').Noted} noted @param {number} position @param {number} fixtures */
function itemsOf(noted, position, fixtures) {
  if (!noted.done) return '';
  const items = fittedItems(noted.done, releasedAt(noted.conversion, position, fixtures));
  if (items === null) return String(facet(noted.done, 'identity').fitted ?? '');
  return items.map(itemText).join('; ');
}

/** @param {import('./as_fitted.js').FittedItem} item */
function itemText({ number, code, setting_ma: setting }) {
  const text = `${number} × ${code}`;
  return setting === undefined || setting === null ? text : `${text}, ${setting} mA`;
}

/** @param {Survey} survey @param {ViewRecord<'room'>} room @returns {string[]} */
function linesOfLight(survey, room) {
  return survey
    .children(room, 'lux_reading')
    .map((each) => facet(each, 'identity'))
    .filter(({ when, lux }) => when !== undefined && lux !== undefined)
    .map(({ point = '', when = '', lux = 0 }) => ({
      point,
      late: when === 'after' ? 1 : 0,
      when,
      lux: plain(lux),
    }))
    .sort(
      (a, b) =>
        inOrder(a.point, b.point) || a.late - b.late || inOrder(a.when, b.when) || inOrder(a.lux, b.lux),
    )
    .map(({ point, when, lux }) => lineOf(LIGHT, room.id, point, when, lux));
}

/** A number in one form only: '500', '12.5'. @param {number} value */
export const plain = (value) => value.toFixed(DIGITS).replace(/\.?0+$/, '');

/** @param {...string} fields */
const lineOf = (...fields) => fields.map((each) => each.replace(/[\t\r\n]/g, ' ')).join('\t');
