// That some of what is released must not be converted for now, with the way to what and why.

import { html } from '../html.js';
import { Mark, Row } from '../parts/parts.js';
import { counted, say } from '../words.js';

/** @param {{site: Site, jobs: unknown[]}} props the groups that are left and stopped */
export const Stopped = ({ site, jobs }) =>
  jobs.length > 0 &&
  html`<ul class="rows"><${Row} href=${`/s/${site.id}/work`} title=${html`<${Mark} look="attention">${say('crew.stopped', { groups: counted(jobs.length, 'group') })}<//>`} end="→" /></ul>`;
