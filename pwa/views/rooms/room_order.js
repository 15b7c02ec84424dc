// Another order of a floor's rooms, and rooms on another floor: the drafts for it. Pure.

/** @typedef {RecordView<'room'>} Room */

/** Rooms by their numbers: 2 before 10. @param {Room[]} rooms */
export const byNumber = (rooms) =>
  [...rooms].sort((a, b) => keyOf(a).localeCompare(keyOf(b), undefined, { numeric: true }));

/** Rooms without a number come last, by name. @param {Room} room */
const keyOf = ({ facets }) => facets.identity?.number || `\uffff${facets.identity?.name ?? ''}`;

/**
 * A list with one of it moved.
 *
 * @template T @param {T[]} list @param {number} from @param {number} to @returns {T[]}
 */
export function movedTo(list, from, to) {
  const rest = list.filter((_, place) => place !== from);
  return [...rest.slice(0, to), list[from], ...rest.slice(to)];
}

/**
 * What makes rooms stand in this order: those that have a place of their own keep the places they have among them.
 *
 * @param {Room[]} rooms in the order wanted @returns {Draft[]} of the rooms whose place changes
 */
export function orderDrafts(rooms) {
  const orders = rooms.map(({ facets }) => facets.walk?.order);
  const places = orders.filter((order) => order !== undefined);
  const distinct = new Set(places).size === rooms.length;
  const wanted = distinct ? [...places].sort((a, b) => a - b) : rooms.map((_, place) => place + 1);
  return rooms.flatMap((room, place) =>
    orders[place] === wanted[place]
      ? []
      : [
          {
            record: room.id,
            type: 'room',
            facet: 'walk',
            value: { order: wanted[place] },
            seen: room.seen.walk ?? null,
          },
        ],
  );
}

/**
 * What moves rooms to another floor, after those that are there.
 *
 * @param {Room[]} rooms in walk order @param {string} floor @param {number} last highest place in the walk there
 * @returns {Draft[]}
 */
export const moveDrafts = (rooms, floor, last) =>
  rooms.flatMap((room, place) => [
    {
      record: room.id,
      type: 'room',
      facet: 'identity',
      value: { ...room.facets.identity, parent: floor },
      seen: room.seen.identity ?? null,
    },
    {
      record: room.id,
      type: 'room',
      facet: 'walk',
      value: { order: last + place + 1 },
      seen: room.seen.walk ?? null,
    },
  ]);
