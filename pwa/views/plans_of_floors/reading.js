// What the screen of a floor's plans reads of the phone: plans, rooms, groups that are pinned, and where each is.

import { asTaken } from '../photos/purposes.js';
import { titleOf } from '../record_screens.js';
import { groupsOf, inWalkOrder } from '../surveying/survey.js';
import { counted } from '../words.js';
import { isPlan, pinOf, whereOf } from './pins.js';

/** @typedef {import('./pins.js').Pin} Pin */
/** @typedef {import('./pins.js').Where} Where */
/** @typedef {import('../surveying/survey.js').GroupAndKind} GroupAndKind */
/** @typedef {RecordView<'room'> | RecordView<'group'>} RoomOrGroup */
/** @typedef {{id: string, record: RoomOrGroup, label: string, name: string, where: Where, room: string}} Placeable */
/** @typedef {{floor: RecordView<'floor'> | undefined, plans: RecordView<'photo'>[], rooms: Placeable[], groups: Placeable[], strays: Placeable[]}} PlansRead */

/** Plans of a floor, oldest first. @param {Site} site @param {string} floor @returns {Promise<RecordView<'photo'>[]>} */
export async function plansOf(site, floor) {
  return asTaken(await site.referring(floor, 'photo')).filter(isPlan);
}

/** @param {RecordView<'room'>} room @param {Where} where @returns {Placeable} */
const roomToPlace = (room, where) => ({
  id: room.id,
  record: room,
  label: room.facets.identity?.number || titleOf(room),
  name: titleOf(room),
  where,
  room: room.id,
});

/** @param {GroupAndKind} found @param {RecordView<'room'> | undefined} room @param {Where} where @returns {Placeable} */
function groupToPlace({ group, kind }, room, where) {
  const label = kind?.facets.identity?.mark ?? '·';
  const { count } = group.facets.count ?? {};
  const parts = [kind ? titleOf(kind) : '', count ? counted(count, 'fixture') : '', room && titleOf(room)];
  const name = parts.filter(Boolean).join(', ') || label;
  return { id: group.id, record: group, label, name, where, room: group.parent ?? '' };
}

/**
 * @param {Site} site @param {string} id of the floor
 * @returns {Promise<PlansRead>} `groups`: those with a pin on these plans; `strays`: what has a pin here and is on this floor no more
 */
export async function readPlans(site, id) {
  const [floor, plans, children] = await Promise.all([
    /** @type {Promise<RecordView<'floor'> | undefined>} */ (site.get(id)),
    plansOf(site, id),
    /** @type {Promise<RecordView<'room'>[]>} */ (site.children(id, 'room')),
  ]);
  const [rooms, groups] = await Promise.all([
    pinnedTo(site, plans, 'room'),
    pinnedTo(site, plans, 'group').then((found) =>
      Promise.all(found.map((group) => pinnedGroup(site, group, id))),
    ),
  ]);
  const planBy = await plansByPins(site, plans, children);
  const moved = rooms.filter(({ parent }) => parent !== id).map((room) => roomToPlace(room, 'other-floor'));
  return {
    floor,
    plans,
    rooms: inWalkOrder(children).map((room) => roomToPlace(room, whereOf(room, id, planBy))),
    groups: groups.filter(({ where }) => where === 'placed'),
    strays: [...moved, ...groups.filter(({ where }) => where !== 'placed')],
  };
}

/** Live records of a type that have a pin on one of the plans. @template {'room' | 'group'} T @param {Site} site @param {RecordView<'photo'>[]} plans @param {T} type @returns {Promise<RecordView<T>[]>} */
async function pinnedTo(site, plans, type) {
  return (await Promise.all(plans.map((plan) => site.referring(plan.id, type)))).flat();
}

/** Plans that rooms have pins on, those of other floors and removed ones too. @param {Site} site @param {RecordView<'photo'>[]} plans @param {RecordView<'room'>[]} rooms */
async function plansByPins(site, plans, rooms) {
  const known = new Map(plans.map((plan) => [plan.id, plan]));
  const others = new Set(rooms.flatMap((room) => pinOf(room)?.plan ?? []).filter((plan) => !known.has(plan)));
  for (const other of others) {
    const plan = /** @type {RecordView<'photo'> | undefined} */ (await site.get(other));
    if (plan) known.set(plan.id, plan);
  }
  return (/** @type {string} */ plan) => known.get(plan);
}

/** @param {Site} site @param {RecordView<'group'>} group @param {string} floor @returns {Promise<Placeable>} */
async function pinnedGroup(site, group, floor) {
  const [kind, room] = await Promise.all([
    /** @type {Promise<RecordView<'kind'> | undefined>} */ (site.get(group.facets.identity?.kind ?? '')),
    /** @type {Promise<RecordView<'room'> | undefined>} */ (site.get(group.parent ?? '')),
  ]);
  return groupToPlace({ group, kind }, room, room?.parent === floor ? 'placed' : 'other-floor');
}

/** Groups of a room, to be placed. @param {Site} site @param {string} room @param {RecordView<'photo'>[]} plans of the floor @returns {Promise<Placeable[]>} */
export async function groupsToPlace(site, room, plans) {
  const [of, groups] = await Promise.all([
    /** @type {Promise<RecordView<'room'> | undefined>} */ (site.get(room)),
    groupsOf(site, room),
  ]);
  const here = new Set(plans.map(({ id }) => id));
  return groups.map((found) =>
    groupToPlace(found, of, here.has(pinOf(found.group)?.plan ?? '') ? 'placed' : 'none'),
  );
}

/** Pins of what has a place. @param {Placeable[]} placed @returns {Pin[]} */
export const pinsOf = (placed) =>
  placed.flatMap(({ id, record, label, name, where }) => {
    const pin = pinOf(record);
    const named = name.startsWith(label) ? name : `${label} ${name}`;
    return pin && where === 'placed' ? [{ id, ...pin, label, name: named }] : [];
  });
