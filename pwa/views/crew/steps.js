// The steps of a conversion in order, each with its lines and with the cautions that are read right there.

import { PROVING_STEPS } from '../../rules/constants.js';
import { html } from '../html.js';
import { NotReviewed } from '../parts/not_reviewed.js';
import { Caution } from '../parts/parts.js';
import { say } from '../words.js';

/** @typedef {{code: string, facts: Facts}} Said */
/** `place`: in the card's whole list, from 1; by it a step is ticked. @typedef {Said & {lines?: Said[], cautions?: string[], place?: number}} Step */
/** @typedef {import('./visits.js').Ticking} Ticking */

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

/** @param {{steps: Step[], cautions: string[], units: 'in' | 'mm', ticking?: Ticking}} props `ticking`: where somebody works here */
export function Steps({ steps, cautions, units, ticking }) {
  const done = steps.filter((step) => ticking && isTicked(step, ticking)).length;
  return html`<section class="stack" aria-label=${say('crew.steps')}>
    <h2>${say('crew.in-this-order')}</h2>
    ${ticking && done > 0 && html`<p class="measure" role="status">${say('card.steps-ticked', { done, steps: steps.length })}</p>`}
    <p>${say('crew.defers')}</p>
    <${NotReviewed} />
    <${Cautions} codes=${cautionsBeforeAll(steps, cautions)} />
    <ol class="steps card">
      ${steps.map((step, place) => html`<${OneStep} key=${place} step=${step} units=${units} ticking=${ticking} />`)}
    </ol>
  </section>`;
}

/** A step that proves something is ticked by whoever relies on it; any other by whoever did it. @param {Step} step @param {Ticking} ticking */
function isTicked({ code, place = 0 }, ticking) {
  const mine = ticking.mine('steps', place);
  return PROVING_STEPS.includes(code) ? mine : mine || ticking.others('steps', place).length > 0;
}

/** @param {{step: Step, units: 'in' | 'mm', ticking?: Ticking}} props */
function OneStep({ step, units, ticking }) {
  const { code, facts, lines = [], cautions = [] } = step;
  const text = say(code, { ...UNKNOWN, ...facts }, units);
  return html`<li>
    ${ticking ? html`<${StepTick} step=${step} text=${text} ticking=${ticking} />` : html`<p>${text}</p>`}
    ${lines.length > 0 && html`<ul class="step-lines">${lines.map((each, at) => html`<li key=${at}>${say(each.code, each.facts, units)}</li>`)}</ul>`}
    <${Cautions} codes=${cautions} />
  </li>`;
}

/** What another ticked stands with the name; only who ticked can take it back. @param {{step: Step, text: string, ticking: Ticking}} props */
function StepTick({ step, text, ticking }) {
  const { code, place = 0 } = step;
  const mine = ticking.mine('steps', place);
  const others = ticking.others('steps', place).join(', ');
  const proves = PROVING_STEPS.includes(code);
  return html`<label class="tick">
      <input type="checkbox" checked=${isTicked(step, ticking)} disabled=${!mine && others !== '' && !proves}
        onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => ticking.tick('steps', place, event.currentTarget.checked)} />
      <span>${text}</span>
    </label>
    ${others && html`<p class="muted small">${say(proves && !mine ? 'card.proved-by-another' : 'card.ticked-by', { others })}</p>`}`;
}

/** @param {{codes: string[]}} props */
function Cautions({ codes }) {
  if (codes.length === 0) return null;
  return html`<${Caution}>
    <ul class="stack" aria-label=${say('crew.cautions')}>${codes.map((code) => html`<li key=${code}>${say(code)}</li>`)}</ul>
  <//>`;
}
