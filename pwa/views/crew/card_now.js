// A released card with the cautions that it lacks by what the survey says now: it is frozen, and what may hurt is not.

import { isSuspectSince } from '../../rules/since_release/ballast.js';

/** @typedef {{group?: RecordView<'group'>, kind?: RecordView<'kind'>, room?: RecordView<'room'>}} Around what a card is for, as it is known now */

const NOT_SEEN = 'not-seen';
const CODE = 'plan.caution.';
const STEP = 'plan.step.';
/** What the old ballasts are counted as where they may hold PCB. */
const SUSPECT = 'suspect';

/**
 * The card of a conversion as it is to be read now.
 *
 * @param {RecordView<'conversion'> | undefined} conversion @param {Around} around @param {Reference} tables @returns {Partial<Card>} as it was frozen where it lacks nothing
 */
export function cardNow(conversion, around, tables) {
  const known = withPcb(conversion, around);
  const lacks = lackedBy(known, around, tables);
  if (lacks.length === 0) return known;
  /** @type {CardStep[]} */
  const steps = (known.steps ?? []).map((step) => ({ ...step }));
  for (const { caution, steps: wanted } of lacks) {
    const at = wanted
      .map((name) => steps.findIndex(({ code }) => code === STEP + name))
      .find((place) => place >= 0);
    const step = steps[at ?? 0];
    if (step) step.cautions = [CODE + caution, ...(step.cautions ?? [])];
  }
  const cautions = [...(known.cautions ?? []), ...lacks.map(({ caution }) => CODE + caution)];
  return { ...known, cautions, steps };
}

/** Cautions that the survey asks for now and the card has not. @param {Partial<Card>} card @param {Around} around @param {Reference} tables */
const lackedBy = ({ cautions = [] }, around, tables) =>
  tables.standing.cautions.filter(
    ({ caution, when }) =>
      !cautions.includes(CODE + caution) &&
      Object.entries(when).every(([field, values]) => values.includes(saidOf(around, field))),
  );

/** What a field says, as `record.facet.field`. @param {Around} around @param {string} field @returns {string} */
function saidOf(around, field) {
  const [record = '', facet = '', name = ''] = field.split('.');
  const facets = /** @type {Record<string, Value> | undefined} */ (
    around[/** @type {keyof Around} */ (record)]?.facets
  );
  return facets?.[facet]?.[name] || NOT_SEEN;
}

/** Ballasts that were released as free of PCB, and of which the survey says by now that they may hold it. @param {RecordView<'conversion'> | undefined} conversion @param {Around} around @returns {Partial<Card>} */
export function withPcb(conversion, { kind }) {
  const { frozen: card = /** @type {Partial<Card>} */ ({}), facts } = conversion?.facets.identity ?? {};
  const { remove } = card;
  const released = /** @type {import('../../rules/since_release/ballast.js').Ballast | undefined} */ (
    facts?.kind?.ballast
  );
  if (!remove || !kind || !released || remove.pcb === SUSPECT) return card;
  if (!isSuspectSince(released, kind.facets.ballast ?? {})) return card;
  const steps = card.steps?.map((step) =>
    'pcb' in step.facts ? { ...step, facts: { ...step.facts, pcb: SUSPECT } } : step,
  );
  return { ...card, remove: { ...remove, pcb: SUSPECT }, ...(steps && { steps }) };
}
