// The walk as the phone has it: floors and rooms in the order in which one meets them, and how far each is.

import { inFloorOrder, inWalkOrder } from './survey.js';

/** Floors, rooms and what each room's row counts; nothing below a room. @param {Site} site */
export async function readWalk(site) {
  const [floors, rooms, rows] = await Promise.all([site.all('floor'), site.all('room'), site.summaries()]);
  return {
    floors: inFloorOrder(floors),
    rooms: inWalkOrder(rooms),
    rows: new Map(rows.map((row) => [row.room, row])),
  };
}
