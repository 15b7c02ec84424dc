// What several survey screens read of the phone: rooms in walk order, groups with their kinds.

const LAST = 1_000_000;
/** @type {Intl.Collator | null} */
let collator = null;

/** Made once, when the first names are compared: to make it takes longer than to compare a thousand. */
function names() {
  collator ??= new Intl.Collator(undefined, { numeric: true });
  return collator;
}

/** @param {RecordView<'floor'>} floor */
const floorPlace = (floor) => [floor.facets.identity?.order ?? LAST, floor.facets.identity?.name ?? ''];
/** @param {RecordView<'room'>} room */
const roomPlace = (room) => [
  room.facets.walk?.order ?? LAST,
  room.facets.identity?.number ?? '',
  room.facets.identity?.name ?? '',
];

/** @param {(number | string)[]} a @param {(number | string)[]} b */
function compare(a, b) {
  for (const [place, left] of a.entries()) {
    const found =
      typeof left === 'number' ? left - Number(b[place]) : names().compare(String(left), String(b[place]));
    if (found !== 0) return found;
  }
  return 0;
}

/** Floors from below. @param {RecordView<'floor'>[]} floors */
export const inFloorOrder = (floors) => [...floors].sort((a, b) => compare(floorPlace(a), floorPlace(b)));

/** Rooms as one walks. @param {RecordView<'room'>[]} rooms */
export const inWalkOrder = (rooms) => [...rooms].sort((a, b) => compare(roomPlace(a), roomPlace(b)));

/** Kinds by mark: K2 before K10. @param {RecordView<'kind'>[]} kinds */
export const byMark = (kinds) =>
  [...kinds].sort((a, b) => compare([a.facets.identity?.mark ?? ''], [b.facets.identity?.mark ?? '']));

/** The next free mark: one above the highest number in use. @param {RecordView<'kind'>[]} kinds */
export function nextMark(kinds) {
  const numbers = kinds.map((kind) => Number(/^K(\d+)$/i.exec(kind.facets.identity?.mark ?? '')?.[1] ?? 0));
  return `K${Math.max(0, ...numbers) + 1}`;
}

/**
 * The groups of a room with their kinds, oldest first as the room was walked.
 *
 * @typedef {{group: RecordView<'group'>, kind: RecordView<'kind'> | undefined}} GroupAndKind
 *
 * @param {Site} site @param {string} room @returns {Promise<GroupAndKind[]>}
 */
export async function groupsOf(site, room) {
  const groups = await site.children(room, 'group');
  const kinds = await Promise.all(
    groups.map(
      (group) =>
        /** @type {Promise<RecordView<'kind'> | undefined>} */ (site.get(group.facets.identity?.kind ?? '')),
    ),
  );
  return groups
    .map((group, /** @type {number} */ place) => ({ group, kind: kinds[place] }))
    .sort((a, b) => String(a.group.at.identity).localeCompare(String(b.group.at.identity)));
}
