// What the screens of many rooms read of the phone.

import { inFloorOrder, inWalkOrder } from '../surveying/survey.js';
import { numbersInUse } from './made_rooms.js';

/** @param {Site} site @param {string} id of a floor */
export async function readFloor(site, id) {
  const [floor, floors, all] = await Promise.all([
    /** @type {Promise<RecordView<'floor'> | undefined>} */ (site.get(id)),
    site.all('floor'),
    site.all('room'),
  ]);
  const rooms = inWalkOrder(all.filter((room) => room.parent === id));
  const last = Math.max(0, ...rooms.map((room) => room.facets.walk?.order ?? 0));
  return { floor: floor ?? null, floors: inFloorOrder(floors), rooms, used: numbersInUse(all), last };
}
