// The steps of a conversion in order, each with its lines and with the cautions that are read right there.

import { html } from '../html.js';
import { Caution } from '../parts/parts.js';
import { say } from '../words.js';

/** @typedef {{code: string, facts: Facts}} Said */
/** @typedef {Said & {lines?: Said[], cautions?: string[]}} Step */

const NOT_SEEN = 'not-seen';
/** What a step says where the survey does not know. */
const UNKNOWN = { panel: NOT_SEEN, circuit: NOT_SEEN, volts: NOT_SEEN };

/**
 * Cautions that no step carries: all those of a card that was frozen before steps carried them.
 *
 * @param {Step[]} steps @param {string[]} cautions
 * @returns {string[]}
 */
export function cautionsBeforeAll(steps, cautions) {
  const carried = new Set(steps.flatMap((step) => step.cautions ?? []));
  return cautions.filter((code) => !carried.has(code));
}

/** @param {{steps: Step[], cautions: string[], units: 'in' | 'mm'}} props */
export function Steps({ steps, cautions, units }) {
  return html`<section class="stack" aria-label=${say('crew.steps')}>
    <h2>${say('crew.in-this-order')}</h2>
    <p>${say('crew.defers')}</p>
    <${Cautions} codes=${cautionsBeforeAll(steps, cautions)} />
    <ol class="steps card">
      ${steps.map((step, place) => html`<${OneStep} key=${place} step=${step} units=${units} />`)}
    </ol>
  </section>`;
}

/** @param {{step: Step, units: 'in' | 'mm'}} props */
function OneStep({ step: { code, facts, lines = [], cautions = [] }, units }) {
  return html`<li>
    <p>${say(code, { ...UNKNOWN, ...facts }, units)}</p>
    ${lines.length > 0 && html`<ul class="step-lines">${lines.map((each, at) => html`<li key=${at}>${say(each.code, each.facts, units)}</li>`)}</ul>`}
    <${Cautions} codes=${cautions} />
  </li>`;
}

/** @param {{codes: string[]}} props */
function Cautions({ codes }) {
  if (codes.length === 0) return null;
  return html`<${Caution}>
    <ul class="stack" aria-label=${say('crew.cautions')}>${codes.map((code) => html`<li key=${code}>${say(code)}</li>`)}</ul>
  <//>`;
}
