// The walk as the phone has it: floors and rooms in the order in which one meets them, and how far each is.

import { inFloorOrder, inWalkOrder } from './survey.js';

/**
 * A room of a list that nobody had been in: whoever enters fixtures in it is in it now.
 *
 * @param {RecordView<'room'>} room @returns {Draft[]}
 */
export const openDrafts = ({ id, facets, seen }) =>
  facets.progress?.progress
    ? []
    : [
        {
          record: id,
          type: 'room',
          facet: 'progress',
          value: { progress: 'open' },
          seen: seen.progress ?? null,
        },
      ];

/** Floors, rooms and what each room's row counts; nothing below a room. @param {Site} site */
export async function readWalk(site) {
  const [floors, rooms, rows] = await Promise.all([site.all('floor'), site.all('room'), site.summaries()]);
  return {
    floors: inFloorOrder(floors),
    rooms: inWalkOrder(rooms),
    rows: new Map(rows.map((row) => [row.room, row])),
  };
}
