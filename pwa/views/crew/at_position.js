// What of a group's conversion is for one of its fixtures: steps, cautions, checks and accessories by position.
//
// A conversion is one for the whole group. What carries `positions` is for those fixtures only, what carries none is for all.
// A card frozen before that tells only `emergency.positions`: what it says of packs and of the test is for those.

/** @typedef {{code: string, facts: Facts, positions?: number[]}} Line */
/** @typedef {Line & {lines?: Line[], cautions?: string[]}} Step */

const PACK = 'emergency-pack';
const OLD_TEST = 'plan.step.test-emergency';
const OLD_RESTORE = 'plan.step.restore';
const OLD_CAUTIONS = ['plan.caution.emergency', 'plan.caution.battery-stays-live'];

/** @param {number[] | undefined} positions @param {number} position */
const holds = (positions, position) => positions === undefined || positions.includes(position);

/** Where a card has no word of its own: the emergency fixtures, if it names any. @param {Partial<Card>} card @returns {number[] | undefined} */
const emergencyOnes = ({ emergency }) => (emergency?.positions?.length ? emergency.positions : undefined);

/** @param {Partial<Card>} card @param {Step} step @returns {number[] | undefined} */
function positionsOfStep(card, step) {
  if (step.positions) return step.positions;
  const ofPack = step.code === 'plan.step.fit-accessory' && step.facts.purpose === PACK;
  return ofPack || step.code === OLD_TEST ? emergencyOnes(card) : undefined;
}

/** The test comes after the feed is back; older cards had it before. @param {Step[]} steps @returns {Step[]} */
function testLast(steps) {
  const test = steps.findIndex(({ code }) => code === OLD_TEST);
  const restore = steps.findIndex(({ code }) => code === OLD_RESTORE);
  if (test < 0 || restore < test) return steps;
  return [
    ...steps.slice(0, test),
    ...steps.slice(test + 1, restore + 1),
    steps[test],
    ...steps.slice(restore + 1),
  ];
}

/** The steps of one fixture, in order. @param {Partial<Card>} card @param {number} position @returns {Step[]} */
export function stepsAt(card, position) {
  const here = (card.steps ?? [])
    .map((/** @type {Step} */ step, at) => ({ ...step, place: at + 1 }))
    .filter((/** @type {Step} */ step) => holds(positionsOfStep(card, step), position));
  return testLast(here).map((step) => ({
    ...step,
    ...(step.lines && { lines: step.lines.filter(({ positions }) => holds(positions, position)) }),
    ...(step.cautions && { cautions: cautionsOf(card, step.cautions, position) }),
  }));
}

/** The cautions of one fixture. @param {Partial<Card>} card @param {number} position @returns {string[]} */
export const cautionsAt = (card, position) => cautionsOf(card, card.cautions ?? [], position);

/** @param {Partial<Card>} card @param {string[]} codes @param {number} position @returns {string[]} */
function cautionsOf(card, codes, position) {
  /** @type {Record<string, number[] | undefined>} */
  const own = card.cautions_at ?? Object.fromEntries(OLD_CAUTIONS.map((code) => [code, emergencyOnes(card)]));
  return codes.filter((code) => holds(own[code], position));
}

/** What is fitted at one fixture beside bars and driver. @param {Partial<Card>} card @param {number} position @returns {CardAccessory[]} */
export const accessoriesAt = (card, position) =>
  (card.accessories ?? []).filter(({ purpose, positions }) =>
    holds(positions ?? (purpose === PACK ? emergencyOnes(card) : undefined), position),
  );

/** The emergency part of a card where one fixture has such a duty, else null. @param {Partial<Card>} card @param {number} position @returns {CardEmergency | null} */
export const emergencyAt = ({ emergency }, position) =>
  emergency && emergency.duty !== 'none' && emergency.positions?.includes(position) ? emergency : null;
