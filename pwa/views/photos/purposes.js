// What a photo is taken for, and where one stands when it matters. Pure.

/** What is photographed of each sort of thing, first what matters most. @type {Record<string, string[]>} */
export const PURPOSES = {
  room: ['room', 'damage'],
  group: ['whole-fixture', 'damage'],
};

/** What is photographed of a kind, at the step where it lies open. */
export const OF_KIND = {
  lensOpen: ['lamp-marking', 'whole-fixture'],
  lampsOut: ['sockets'],
  coverOpen: ['ballast-label', 'ballast-space'],
};

/** What lies before one's eyes while a facet is filled in, by `type.facet`. @type {Record<string, string[]>} */
export const AT_FACET = {
  'kind.housing': ['whole-fixture', 'damage'],
  'kind.lamps': ['lamp-marking'],
  'kind.spring_back': ['sockets'],
  'kind.ballast': ['ballast-label'],
  'kind.ballast_space': ['ballast-space'],
  'kind.wiring': ['ballast-space'],
  'room.ceiling': ['room'],
  'room.surroundings': ['damage'],
  'group.supply': ['panel'],
  'group.differs': ['damage'],
};

/** What a photo may be said to show; a floor plan is brought in by itself. @param {string[]} choices of the spec @param {string | undefined} now */
export const purposesToChoose = (choices, now) =>
  choices.filter((choice) => choice !== 'floor-plan' || choice === now);

/**
 * Photos in the order in which they were taken.
 *
 * @template {{id: string, facets: {identity?: {taken_at?: string}}}} P
 * @param {P[]} photos @returns {P[]}
 */
export const asTaken = (photos) =>
  [...photos].sort((a, b) => {
    const [left, right] = [a, b].map(({ id, facets }) => `${facets.identity?.taken_at ?? ''} ${id}`);
    return left < right ? -1 : 1;
  });

/** How many photos there are of each purpose. @param {Array<{facets: {identity?: {purpose?: string}}}>} photos @returns {Record<string, number>} */
export function countByPurpose(photos) {
  /** @type {Record<string, number>} */
  const counts = {};
  for (const { facets } of photos) {
    const purpose = facets.identity?.purpose ?? 'other';
    counts[purpose] = (counts[purpose] ?? 0) + 1;
  }
  return counts;
}
