// Records of a small day's work, to test lists with: two rooms, one group each, as a release froze them. All invented.

/** @param {string} id @param {string} type @param {string | null} parent @param {Record<string, any>} facets @param {number} [order] */
export const record = (id, type, parent, facets, order = 0) => ({
  id,
  type,
  parent,
  removed: false,
  facets: { ...facets, identity: { parent, ...facets.identity } },
  conflicts: [],
  order: { identity: order },
  at: {},
  by: {},
});

/** Two rows with a bar each on one driver; takes out two lamps and a ballast. */
export const CARD = {
  rows: [1, 2].map((row) => ({ row, cavities: 1, bars: [{ name: 'B-4' }], dark: false })),
  driver: { name: 'D-40', number: 1, setting_ma: 700 },
  remove: { lamps: 2, lamp: 'T8 4 ft', ballasts: 1, ballast: 'magnetic', pcb: 'suspect' },
  accessories: [{ name: 'P-10', purpose: 'emergency-pack', in_the_group: 1, positions: [2] }],
  emergency: { duty: 'battery-in-fixture', positions: [2], old_battery: 'nickel-cadmium', wanted_min: 90 },
};

/** @param {string} name @param {number} count @param {Record<string, any>} [more] facets of the room and the group */
export function roomWithWork(name, count, { room = {}, group = {}, left } = {}) {
  const here = record(name, 'room', 'ground', { identity: { number: name }, ...room });
  const fixtures = record(`${name}-group`, 'group', name, { identity: { kind: 'k1' }, count: { count }, ...group });
  const conversion = record(`${name}-conversion`, 'conversion', fixtures.id, {
    identity: { release: 'r1', number: 1, arrangement: 'A', frozen: CARD },
  });
  const all = Array.from({ length: count }, (_, at) => at + 1);
  return { room: here, group: fixtures, conversion, positions: all, left: left ?? all, further: [], told: new Map(), fixtures: count };
}
