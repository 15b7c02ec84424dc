// One open point in a list: what is open, who can close it, and the way there.

import { html } from '../html.js';
import { say } from '../words.js';

/** @param {{point: import('../../rules/open_points.js').OpenPoint, site: Site}} props */
export function OpenPoint({ point, site }) {
  const mine = point.who.includes(site.role);
  return html`<li data-rule=${point.rule}>
    <a class="row" href=${point.path}>
      <span><span>${say(`open-point.${point.rule}`, point.facts)}</span><span class="detail">${mine ? say('page.you-can-close-this') : say('page.closed-by', { who: point.who.join(', ') })}</span></span>
      <span class="end" aria-hidden="true">→</span>
    </a>
  </li>`;
}
