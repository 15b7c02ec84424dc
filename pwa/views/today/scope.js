// The frame of a list of the day: what it is about, and the work in it.

import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { titleOf } from '../record_screens.js';
import { dayText } from '../numbers.js';
import { say } from '../words.js';
import { readDay, scopeOf } from './read_day.js';
import { NotInRelease, Stopped } from './stopped.js';

/** @typedef {import('./read_day.js').Day} Day */
/** @typedef {import('../crew/jobs.js').Job} Job */

/** What a list is about, in words. @param {Day} day @param {ReturnType<typeof scopeOf>} scope */
const aboutText = (day, { of, whose }) =>
  of ? titleOf(of) : say(`today.about-${whose}`, { day: dayText(day.day) });

/**
 * @param {{site: Site, title: string, children: (day: Day, jobs: Job[]) => Child}} props
 */
export function ListOfDay({ site, title, children }) {
  const day = useLive(() => readDay(site), [site.id]);
  const scope = day && scopeOf(day, location.search);
  const left = scope?.jobs.some((job) => job.left.length > 0);
  return html`<${Page} title=${title} over=${site.name} back=${`/s/${site.id}/today`} site=${site.id}>
    ${
      day &&
      scope &&
      html`<p class="strong">${aboutText(day, scope)}</p>
      <${Stopped} site=${site} jobs=${scope.stopped} />
      <${NotInRelease} jobs=${scope.jobs} />
      ${left ? children(day, scope.jobs) : scope.stopped.length === 0 && scope.jobs.every(({ further }) => further.length === 0) && html`<p class="notice">${say('today.nothing-left')}</p>`}`
    }
  <//>`;
}
