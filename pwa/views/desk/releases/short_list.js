// The first of some groups, a line each, and how many more there are.

import { html } from '../../html.js';
import { counted, say } from '../../words.js';

const SHOWN = 20;

/** @param {{lines: Array<{id: string, text: string}>}} props */
export function ShortList({ lines }) {
  if (lines.length === 0) return null;
  return html`<ul class="changes">
    ${lines.slice(0, SHOWN).map(({ id, text }) => html`<li key=${id}>${text}</li>`)}
    ${lines.length > SHOWN && html`<li>${say('desk.and-more-groups', { groups: counted(lines.length - SHOWN, 'group') })}</li>`}
  </ul>`;
}

/** To where it is settled. @param {{site: Site}} props */
export const ToReleases = ({ site }) =>
  html`<p class="side-by-side"><a class="button" href=${`/s/${site.id}/desk/releases`}>${say('desk.to-releases')}</a></p>`;
