// Where rooms and groups stand on the plans of a floor, and which pins say nothing any more. Pure.

/** @typedef {import('../photos/geometry.js').Point} Point */
/** @typedef {{id: string, plan: string, x: number, y: number, label: string, name: string, word?: string, look?: string}} Pin `label`: on the plan, `word` after it; `name`: what a screen reader says, begins with both; `look`: its colour, a class; x, y in 1/10,000 of the picture */
/** @typedef {'none' | 'placed' | 'plan-gone' | 'other-floor'} Where */
/** @typedef {{id: string, removed?: boolean, facets: {identity?: {subject?: string, purpose?: string}}}} Plan */
/** @typedef {{plan?: string, x?: number, y?: number}} Kept */

/** What is pinned where; null where nothing is, or the pin was taken away. @param {{facets: {pin?: Kept}}} record @returns {{plan: string} & Point | null} */
export function pinOf({ facets: { pin } }) {
  const { plan, x, y } = pin ?? {};
  return plan === undefined || x === undefined || y === undefined ? null : { plan, x, y };
}

/** Whether a photo is a plan of a floor. @param {Plan} photo */
export const isPlan = ({ facets }) => facets.identity?.purpose === 'floor-plan';

/**
 * Whether a pin still says where something is: its plan may have been removed, the room may have moved to another floor.
 *
 * @param {{facets: {pin?: Kept}}} record room or group @param {string} floor on which it is now
 * @param {(id: string) => Plan | undefined} planBy removed ones too
 * @returns {Where}
 */
export function whereOf(record, floor, planBy) {
  const pin = pinOf(record);
  if (!pin) return 'none';
  const plan = planBy(pin.plan);
  if (!plan || plan.removed || !isPlan(plan)) return 'plan-gone';
  return plan.facets.identity?.subject === floor ? 'placed' : 'other-floor';
}

/**
 * What comes after something in a list, of those that have no place yet; round to the beginning.
 *
 * @param {Array<{id: string, where: Where}>} list @param {string} id
 * @returns {string | null}
 */
export function nextWithoutPlace(list, id) {
  const at = list.findIndex((each) => each.id === id);
  const round = [...list.slice(at + 1), ...list.slice(0, Math.max(0, at))];
  return round.find(({ where }) => where !== 'placed')?.id ?? null;
}
