// The spares that were used so far, where a crew sees what is left in the van.

import { html } from '../html.js';
import { counted, say } from '../words.js';
import { spareLines } from './spares.js';

/** @param {{jobs: import('../crew/jobs.js').Job[], day: string}} props */
export function SparesUsed({ jobs, day }) {
  const lines = spareLines(jobs, day);
  if (lines.length === 0) return null;
  return html`<section class="card" aria-label=${say('spares.used')}>
    <h2>${say('spares.used')}</h2>
    <ul class="step-lines">${lines.map(
      ({ code, number, today }) =>
        html`<li key=${code}>${say('spares.line', { code, pieces: counted(number, 'piece'), today })}</li>`,
    )}</ul>
    <p class="muted small">${say('spares.help')}</p>
  </section>`;
}
