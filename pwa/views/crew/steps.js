// The steps of a conversion in order, each with its lines and with the cautions that are read right there.

import { PROVING_STEPS } from '../../rules/constants.js';
import { html } from '../html.js';
import { NotReviewed } from '../parts/not_reviewed.js';
import { Caution, Problem } from '../parts/parts.js';
import { say } from '../words.js';

/** @typedef {{code: string, facts: Facts}} Said */
/** `place`: in the card's whole list, from 1; by it a step is checked off. @typedef {Said & {lines?: Said[], cautions?: string[], place?: number}} Step */
/** @typedef {import('./visits.js').CheckingOff} CheckingOff */

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

/** @param {{steps: Step[], cautions: string[], units: 'in' | 'mm', checkingOff?: CheckingOff}} props `checkingOff`: where somebody works here */
export function Steps({ steps, cautions, units, checkingOff }) {
  const done = steps.filter((step) => checkingOff && isCheckedOff(step, checkingOff)).length;
  return html`<section class="stack" aria-label=${say('crew.steps')}>
    <h2>${say('crew.in-this-order')}</h2>
    ${checkingOff && done > 0 && html`<p class="measure" role="status">${say('card.steps-ticked', { done, steps: steps.length })}</p>`}
    <p>${say('crew.defers')}</p>
    <${NotReviewed} />
    <${Cautions} codes=${cautionsBeforeAll(steps, cautions)} />
    <ol class="steps card">
      ${steps.map((step, place) => html`<${OneStep} key=${place} step=${step} units=${units} checkingOff=${checkingOff} />`)}
    </ol>
  </section>`;
}

/** A step that proves something is checked off by whoever relies on it; any other by whoever did it. @param {Step} step @param {CheckingOff} checkingOff */
function isCheckedOff({ code, place = 0 }, checkingOff) {
  const mine = checkingOff.mine('steps', place);
  return PROVING_STEPS.includes(code) ? mine : mine || checkingOff.others('steps', place).length > 0;
}

/** @param {{step: Step, units: 'in' | 'mm', checkingOff?: CheckingOff}} props */
function OneStep({ step, units, checkingOff }) {
  const { code, facts, lines = [], cautions = [] } = step;
  const text = say(code, { ...UNKNOWN, ...facts }, units);
  return html`<li>
    ${checkingOff ? html`<${StepCheck} step=${step} text=${text} checkingOff=${checkingOff} />` : html`<p>${text}</p>`}
    ${lines.length > 0 && html`<ul class="step-lines">${lines.map((each, at) => html`<li key=${at}>${say(each.code, each.facts, units)}</li>`)}</ul>`}
    <${Cautions} codes=${cautions} />
  </li>`;
}

/** What another checked off stands with the name; only who did can take it back. @param {{step: Step, text: string, checkingOff: CheckingOff}} props */
function StepCheck({ step, text, checkingOff }) {
  const { code, place = 0 } = step;
  const mine = checkingOff.mine('steps', place);
  const others = checkingOff.others('steps', place).join(', ');
  const proves = PROVING_STEPS.includes(code);
  return html`<label class="check-line">
      <input type="checkbox" checked=${isCheckedOff(step, checkingOff)} disabled=${!mine && others !== '' && !proves}
        onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => checkingOff.checkOff('steps', place, event.currentTarget.checked)} />
      <span>${text}</span>
    </label>
    <${Problem} error=${checkingOff.failed('steps', place)} />
    ${others && html`<p class="muted small">${say(proves && !mine ? 'card.proved-by-another' : 'card.ticked-by', { others })}</p>`}`;
}

/** @param {{codes: string[]}} props */
function Cautions({ codes }) {
  if (codes.length === 0) return null;
  return html`<${Caution}>
    <ul class="stack" aria-label=${say('crew.cautions')}>${codes.map((code) => html`<li key=${code}>${say(code)}</li>`)}</ul>
  <//>`;
}
