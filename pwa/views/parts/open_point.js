// One open point in a list: what is open, who can close it, and the way there.

import { html } from '../html.js';
import { say } from '../words.js';
import { lacksTemperature, WhereTemperatures } from './temperatures.js';

/** Who can close it. @param {import('../../rules/points/open_points.js').OpenPoint} point @param {Site} site */
export const closedBy = ({ who }, site) =>
  who.includes(site.role) ? say('page.you-can-close-this') : say('page.closed-by', { who: who.join(', ') });

/** @param {{point: import('../../rules/points/open_points.js').OpenPoint, site: Site, person?: string}} props `person`: who has it, by name */
export function OpenPoint({ point, site, person }) {
  const because = /** @type {{code: string} | undefined} */ (point.facts.because);
  return html`<li data-rule=${point.rule}>
    <a class="row" href=${point.path}>
      <span><span>${say(`open-point.${point.rule}`, point.facts)}</span><span class="detail">${closedBy(point, site)}${person && ` · ${say('points.has', { person })}`}</span></span>
      <span class="end" aria-hidden="true">→</span>
    </a>
    ${because && lacksTemperature(because) && html`<${WhereTemperatures} site=${site} room=${point.room} />`}
  </li>`;
}
