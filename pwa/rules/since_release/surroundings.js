// Supply, moisture and air, judged against what the released items bear. Twin: server/spanwalk/rules/since_release/surroundings.py.

import * as constants from '../constants.js';
import { before, change, itemOf, itemsOf, LOOK, now, PARTS, STOP, saidBy } from './seen.js';

/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./seen.js').Change} Change */
/** @typedef {import('./seen.js').Row} Row */

/** Air in which an item may be that does not say its limits [°C]. */
const SILENT_COLDEST_C = constants.SILENT_COLDEST_C;
const SILENT_HOTTEST_C = constants.SILENT_HOTTEST_C;
/** Labels that prove a range of supplies, by its ends [V]. @type {readonly string[]} */
const RANGES_ON_LABELS = constants.RANGES_ON_LABELS;
/** A supply that turns out to be d.c. stops: whether a driver bears just these volts was never checked. */
const DIRECT = constants.DIRECT;
const MOISTURE = ['dry', 'damp', 'wet'];

/** @param {Seen} seen @returns {Change[]} */
export function volts(seen) {
  const [from, to] = [before(seen, 'group', 'supply', 'volts'), now(seen, 'group', 'supply', 'volts')];
  const turned = to === DIRECT && from !== to;
  const outside =
    turned || (to !== null && !itemsOf(seen, 'drivers').every((id) => takes(itemOf(seen, id), to)));
  if (!outside && from === to) return [];
  const weight = outside || to === null ? STOP : LOOK;
  return [change('group.supply.volts', weight, from, to, saidBy(seen.records.group, 'supply'))];
}

/** Another label on the ballast: it stops where nothing but the label told the supply, and a driver does not take its range. @param {Seen} seen @returns {Change[]} */
export function voltsOnLabel(seen) {
  const [from, to] = [
    before(seen, 'kind', 'ballast', 'volts_mark'),
    now(seen, 'kind', 'ballast', 'volts_mark'),
  ];
  if (from === to) return [];
  const alone = now(seen, 'group', 'supply', 'volts') === null;
  const [least, most] = (RANGES_ON_LABELS.includes(to) ? to : '').split('-').map(Number);
  const fits =
    most !== undefined &&
    itemsOf(seen, 'drivers')
      .map((id) => itemOf(seen, id))
      .every((each) => each.volts_min <= least && most <= each.volts_max);
  const weight = alone && !fits ? STOP : LOOK;
  return [change('kind.ballast.volts_mark', weight, from, to, saidBy(seen.records.kind, 'ballast'))];
}

/** @param {Row} driver @param {string} supply */
const takes = (driver, supply) =>
  supply === 'dc'
    ? Boolean(driver.dc)
    : driver.volts_min <= Number(supply) && Number(supply) <= driver.volts_max;

/** @param {Seen} seen @returns {Change[]} */
export function moisture(seen) {
  const fact = 'room.surroundings.moisture';
  const [from, to] = [
    before(seen, 'room', 'surroundings', 'moisture'),
    now(seen, 'room', 'surroundings', 'moisture'),
  ];
  const madeFor = itemsOf(seen, 'bars', 'drivers')
    .map((id) => itemOf(seen, id).moisture)
    .filter((each) => each !== undefined)
    .map((each) => MOISTURE.indexOf(each));
  const said = saidBy(seen.records.room, 'surroundings');
  if (to !== null && Math.min(...madeFor) < MOISTURE.indexOf(to)) return [change(fact, STOP, from, to, said)];
  return to === null && from !== null ? [change(fact, LOOK, from, to, said)] : [];
}

/** Air colder or hotter than an item bears; the room's where it says one, else the site's. @param {Seen} seen @returns {Change[]} */
export function temperatures(seen) {
  /** @type {Array<[string, number, number]>} */
  const ends = [
    ['hottest_c', 1, SILENT_HOTTEST_C],
    ['coldest_c', -1, SILENT_COLDEST_C],
  ];
  return ends.flatMap(([field, sign, usual]) => {
    const from = before(seen, 'room', 'surroundings', field) ?? before(seen, 'site', 'settings', field);
    const ofRoom = now(seen, 'room', 'surroundings', field);
    const to = ofRoom ?? now(seen, 'site', 'settings', field);
    if (to === null) return [];
    const beyond = PARTS.some((part) =>
      itemsOf(seen, part).some((id) => {
        const item = itemOf(seen, id);
        return isBeyond(item, field, sign, to + riseOf(part, field, item), usual, from === to);
      }),
    );
    if (!beyond) return [];
    const { site, room } = seen.records;
    const said = ofRoom === null ? saidBy(site, 'settings') : saidBy(room, 'surroundings');
    return [change(`room.surroundings.${field}`, STOP, from, to, said)];
  });
}

/** By how much a driver gets hotter than the air in a closed body [K]. @param {string} part @param {string} field @param {Row} item */
const riseOf = (part, field, item) => (part === 'drivers' && field === 'hottest_c' ? (item.rise_k ?? 0) : 0);

/** Whether the air is beyond what an item bears; one that does not say was judged at the release. @param {Row} item @param {string} field @param {number} sign @param {number} airC @param {number} usualC @param {boolean} asBefore */
function isBeyond(item, field, sign, airC, usualC, asBefore) {
  const limit = item[field];
  const overMk = sign * (thousandths(airC) - thousandths(limit ?? usualC));
  return overMk > 0 && !(limit === undefined && asBefore);
}

/** @param {number} value */
const thousandths = (value) => Math.round(value * 1000);
