// Released groups that must not be converted for now, for who is about to order: which, why, and the way to where that is settled.

import { useMemo } from 'preact/hooks';
import { ranges } from '../../../rules/installing/punch_list.js';
import { STOP } from '../../../rules/since_release/standing.js';
import { facet, isPosition, nameOfRoom, Survey } from '../../../rules/survey.js';
import { workOf } from '../../crew/jobs.js';
import { changeText } from '../../crew/standing_notice.js';
import { rarely } from '../../gently.js';
import { useLive } from '../../hooks.js';
import { html } from '../../html.js';
import { counted, say } from '../../words.js';
import { ShortList, ToReleases } from './short_list.js';

/** @typedef {import('../../crew/jobs.js').Job} Job */
/** Groups with fixtures left of which nothing is to be converted; those of which some fixtures are in no release; those with fixtures done that the count has not. @typedef {{stopped: Job[], further: Job[], beyond: Job[]}} StoppedReleased */

/** What of the released work stands still, as far as this browser knows it. @param {Survey} survey @param {Reference} tables @returns {StoppedReleased} */
export function stoppedOf(survey, tables) {
  const jobs = workOf(survey, tables).flatMap((floor) => floor.jobs);
  return {
    stopped: jobs.filter(
      ({ stands, left, further }) => stands?.standing === STOP && left.length + further.length > 0,
    ),
    further: jobs.filter(
      ({ stands, further }) => further.length > 0 && !['withdrawn', STOP].includes(stands?.standing ?? ''),
    ),
    beyond: jobs.filter((job) => beyondCount(job).length > 0),
  };
}

/** Fixtures of a job that are done, and that the count has not: no release orders for them again. @param {Job} job */
const beyondCount = ({ group, positions }) => positions.filter((each) => !isPosition(group, each));

/** A site of which nothing is released has nothing that stands still. @param {Site} site @returns {Promise<StoppedReleased>} */
async function readStopped(site) {
  if ((await site.all('conversion')).length === 0) return { stopped: [], further: [], beyond: [] };
  return stoppedOf(new Survey(await site.everything()), site.reference);
}

/** The same, followed; undefined until it was looked at. All of a large site is read for it: not for each change. @param {Site} site @returns {StoppedReleased | undefined} */
export function useStoppedReleased(site) {
  const read = useMemo(() => rarely(() => readStopped(site)), [site.id]);
  return useLive(read, [site.id]);
}

/** Whether anything stands still. @param {StoppedReleased | undefined} told */
export const standsStill = (told) =>
  told !== undefined && told.stopped.length + told.further.length + told.beyond.length > 0;

/** @param {{site: Site, told: StoppedReleased | undefined}} props */
export function StoppedReleased({ site, told }) {
  if (!told || !standsStill(told)) return null;
  const { stopped, further, beyond } = told;
  return html`<section class="notice bad stack" aria-label=${say('desk.stopped-released')}>
    ${stopped.length > 0 && html`<p class="strong" role="alert">${say('desk.stopped-released-about', { groups: counted(stopped.length, 'group') })}</p>`}
    <${ShortList} lines=${linesOf(stopped, ({ stands }) => (stands?.changes ?? []).filter(({ weight }) => weight === STOP).map((each) => changeText(site, each)))} />
    ${further.length > 0 && html`<p class="strong" role="note">${say('desk.not-in-release-about', { groups: counted(further.length, 'group') })}</p>`}
    <${ShortList} lines=${linesOf(further, (job) => [say('crew.not-in-release', { fixtures: ranges(job.further) })])} />
    ${beyond.length > 0 && html`<p class="strong" role="note">${say('desk.beyond-count-about', { groups: counted(beyond.length, 'group') })}</p>`}
    <${ShortList} lines=${linesOf(beyond, (job) => [ranges(beyondCount(job))])} />
    <${ToReleases} site=${site} />
  </section>`;
}

/** @param {Job[]} jobs @param {(job: Job) => string[]} line */
const linesOf = (jobs, line) =>
  jobs.map((job) => ({
    id: job.group.id,
    text: `${nameOfRoom(job.room)} · ${facet(job.kind, 'identity').mark ?? ''}: ${line(job).join('; ')}`,
  }));
