// The strongest next step: a trial bar or a go gauge where tapes take long, with how many readings they would take.

import { html } from '../html.js';
import { counted, say } from '../words.js';
import { barNames } from './judged_group.js';

/** @param {{step: NextStep, found: import('./judged_group.js').Found}} props */
export function NextStep({ step, found }) {
  const { by_lamp: byLamp, by_tape: tape, by_trial: trial, by_gauge: gauge, needed_ticks } = step;
  const bars = barNames(step.bars, found.bars);
  return html`<section class="next-step stack small" aria-label=${say('next.title')}>
    <p class="strong">${say('next.title')}</p>
    <p>${say(byLamp ? 'next.by-lamp' : 'next.tight', { bars, needed_ticks })}</p>
    <p data-by-tape=${tape ?? ''}>${tapeText(byLamp, tape)}</p>
    ${!byLamp && trial !== null && html`<p>${say('next.trial', { more: counted(trial, 'cavity') })}${gauge !== null && ` ${say('next.gauge', { more: counted(gauge, 'cavity') })}`}</p>`}
    <a class="button wide" href=${`/s/${found.site.id}/group/${found.group.id}/trial`}>${say('survey.record-a-trial-bar')}</a>
  </section>`;
}

/** @param {boolean} byLamp @param {number | null} more */
function tapeText(byLamp, more) {
  if (more === null) return say('next.tape-never');
  return byLamp
    ? say('next.tape-fixtures', { more: counted(more, 'fixture') })
    : say('next.tape', { more: counted(more, 'cavity') });
}
