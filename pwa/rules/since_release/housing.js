// The body that takes bars and drivers, judged against those that were released. Twin: server/spanwalk/rules/since_release/housing.py.

import { before, change, itemOf, itemsOf, LOOK, now, SIDES, STOP, saidBy, same } from './seen.js';

/** @typedef {import('./seen.js').Seen} Seen */
/** @typedef {import('./seen.js').Change} Change */

/** A ballast space in which no way of laying the drivers goes any more. @param {Seen} seen @returns {Change[]} */
export function space(seen) {
  const from = SIDES.map((side) => before(seen, 'kind', 'ballast_space', side));
  const to = SIDES.map((side) => now(seen, 'kind', 'ballast_space', side));
  const ways = seen.facts.ways ?? [];
  if (same(from, to) || ways.length === 0) return [];
  const known = to.every((each) => each !== null);
  if (known && ways.some((way) => way.every((needs, side) => needs <= to[side]))) return [];
  return [
    change('kind.ballast_space', known ? STOP : LOOK, from, to, saidBy(seen.records.kind, 'ballast_space')),
  ];
}

/** What the bar will lie on: the group's own where it differs, else the kind's. @param {Seen} seen @returns {Change[]} */
export function material(seen) {
  const from =
    before(seen, 'group', 'differs', 'housing_material') ?? before(seen, 'kind', 'housing', 'material');
  const own = now(seen, 'group', 'differs', 'housing_material');
  const to = own ?? now(seen, 'kind', 'housing', 'material');
  if (from === to) return [];
  const said = own === null ? saidBy(seen.records.kind, 'housing') : saidBy(seen.records.group, 'differs');
  return [change('kind.housing.material', STOP, from, to, said)];
}

/** A body narrower or lower than its bars. @param {Seen} seen @returns {Change[]} */
export function roomForBar(seen) {
  const bars = itemsOf(seen, 'bars').map((id) => itemOf(seen, id));
  return SIDES.slice(1).flatMap((side) => {
    const [from, to] = [before(seen, 'kind', 'housing', side), now(seen, 'kind', 'housing', side)];
    if (from === to || to === null || !bars.some((bar) => (bar[side] ?? 0) > to)) return [];
    return [change(`kind.housing.${side}`, STOP, from, to, saidBy(seen.records.kind, 'housing'))];
  });
}
