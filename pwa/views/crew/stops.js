// What makes the work stop: on every card, and one tap from there to saying so.

import { html } from '../html.js';
import { say } from '../words.js';

/** @typedef {{code: string, facts: Facts}} Said */

/** @param {RecordView<'conversion'> | undefined} conversion @returns {Said[]} none on a card that was frozen before cards named them */
export const stopsOf = (conversion) => conversion?.facets.identity?.frozen?.stops ?? [];

/** The reasons as they are read. @param {RecordView<'conversion'> | undefined} conversion @returns {string[]} */
export const stopReasons = (conversion) => stopsOf(conversion).map(({ code, facts }) => say(code, facts));

/** @param {{conversion: RecordView<'conversion'>, onStop: () => void}} props */
export function Stops({ conversion, onStop }) {
  const reasons = stopReasons(conversion);
  return html`<section class="caution stack" aria-label=${say('crew.when-to-stop')}>
    <h2>${say('crew.stop-if')}</h2>
    ${
      reasons.length > 0
        ? html`<ul class="step-lines">${reasons.map((each) => html`<li key=${each}>${each}</li>`)}</ul>`
        : html`<p>${say('crew.stop-any')}</p>`
    }
    <p>${say('crew.stop-how')}</p>
    <button type="button" class="button danger" onClick=${onStop}>${say('crew.stop-say-what-it-is')}</button>
  </section>`;
}
