// That some of what is released must not be converted for now, with the way to what and why.

import { ranges } from '../../rules/installing/punch_list.js';
import { facet } from '../../rules/survey.js';
import { html } from '../html.js';
import { Mark, Row } from '../parts/parts.js';
import { titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';

/** @param {{site: Site, jobs: unknown[]}} props the groups that are left and stopped */
export const Stopped = ({ site, jobs }) =>
  jobs.length > 0 &&
  html`<ul class="rows"><${Row} href=${`/s/${site.id}/work`} title=${html`<${Mark} look="attention">${say('crew.stopped', { groups: counted(jobs.length, 'group') })}<//>`} end="→" /></ul>`;

/** Fixtures that no release has, and that are left out of what follows; by room and kind. @param {{jobs: import('../crew/jobs.js').Job[]}} props */
export function NotInRelease({ jobs }) {
  const some = jobs.filter(({ further }) => further.length > 0);
  if (some.length === 0) return null;
  const fixtures = some.flatMap(({ further }) => further).length;
  return html`<div class="notice bad" role="note">
    <p class="strong">${say('today.not-in-release', { fixtures: counted(fixtures, 'fixture') })}</p>
    <ul class="step-lines">${some.map(({ group, room, kind, further }) => html`<li key=${group.id}>${titleOf(room)} · ${facet(kind, 'identity').mark ?? ''}: ${ranges(further)}</li>`)}</ul>
  </div>`;
}
