// The steps of a conversion in order, each with the cautions that belong to it.

import { html } from '../html.js';
import { Caution } from '../parts/parts.js';
import { say } from '../words.js';

/** @typedef {{code: string, facts: Record<string, any>}} Step */

const NOT_SEEN = 'not seen';
/** What a step says where the survey does not know. */
const UNKNOWN = { panel: NOT_SEEN, circuit: NOT_SEEN, volts: NOT_SEEN };

/** The step with which a caution is read. Others are read before all. @type {Record<string, string>} */
const BELONGS_TO = {
  'plan.caution.mercury': 'plan.step.take-lamps',
  'plan.caution.pcb': 'plan.step.take-ballast',
  'plan.caution.two-levels': 'plan.step.fit-driver',
  'plan.caution.no-magnet': 'plan.step.lay-bars',
  'plan.caution.sealed-body': 'plan.step.lay-bars',
  'plan.caution.look-at-first': 'plan.step.lay-bars',
  'plan.caution.trial': 'plan.step.lay-bars',
  'plan.caution.doubtful-count': 'plan.step.lay-bars',
  'plan.caution.empty-row': 'plan.step.leave-empty',
  'plan.caution.emergency': 'plan.step.test-emergency',
};

/**
 * Cautions by the place of their step in the list; what belongs to no step stands at the first.
 *
 * @param {Step[]} steps @param {string[]} cautions
 * @returns {Map<number, string[]>}
 */
export function cautionsByStep(steps, cautions) {
  /** @type {Map<number, string[]>} */
  const found = new Map();
  for (const caution of cautions) {
    const place = Math.max(
      0,
      steps.findIndex(({ code }) => code === BELONGS_TO[caution]),
    );
    found.set(place, [...(found.get(place) ?? []), caution]);
  }
  return found;
}

/** @param {{steps: Step[], cautions: string[]}} props */
export function Steps({ steps, cautions }) {
  const at = cautionsByStep(steps, cautions);
  return html`<section class="stack" aria-label="Steps">
    <h2>In this order</h2>
    <${Cautions} codes=${at.get(0)} />
    <ol class="steps card">
      ${steps.map(
        ({ code, facts }, place) => html`<li key=${place}>
          <p>${say(code, { ...UNKNOWN, ...facts })}</p>
          ${place > 0 && html`<${Cautions} codes=${at.get(place)} />`}
        </li>`,
      )}
    </ol>
  </section>`;
}

/** @param {{codes?: string[]}} props */
function Cautions({ codes = [] }) {
  if (codes.length === 0) return null;
  return html`<${Caution}>
    <ul class="stack" aria-label="Cautions">${codes.map((code) => html`<li key=${code}>${say(code)}</li>`)}</ul>
  <//>`;
}
