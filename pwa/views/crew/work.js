// What there is to do: released groups room by room in the order of the walk, and how far each is.

import { ranges } from '../../rules/installing/punch_list.js';
import { positionsOf } from '../../rules/survey.js';
import { html } from '../html.js';
import { OnceHeard } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Mark, Row } from '../parts/parts.js';
import { useReadAndHeard } from '../parts/when_heard.js';
import { titleOf } from '../record_screens.js';
import { choiceText, counted, say } from '../words.js';
import { fixturePath } from '../scanning/find_label.js';
import { HazardMarks } from './hazards.js';
import { readWork } from './jobs.js';
import { keepsAway } from './standing_facts.js';
import { changeText } from './standing_notice.js';

/** @typedef {import('./jobs.js').Job} Job */

/** @param {{site: Site}} props */
export function Work({ site }) {
  const held = useReadAndHeard(site, () => readWork(site), [site.id]);
  const floors = held?.read;
  const every = floors?.flatMap((floor) => floor.jobs) ?? [];
  const jobs = every.filter(({ stands }) => stands?.standing !== 'withdrawn');
  const away = every.filter(({ stands }) => keepsAway(stands));
  const [done, fixtures] = [sum(jobs, 'done'), sum(jobs, 'fixtures')];
  return html`<${Page} title=${say('crew.work')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    ${
      away.length > 0 &&
      html`<section class="notice bad stack" aria-label=${say('crew.do-not-convert')}>
        <h2>${say('crew.stopped', { groups: counted(away.length, 'group') })}</h2>
        <ul class="rows">${away.map((job) => html`<${StoppedRow} key=${job.group.id} site=${site} job=${job} />`)}</ul>
      </section>`
    }
    <a class="button main wide" href=${`/s/${site.id}/scan`}>${say('crew.scan-a-label')}</a>
    ${held && every.length === 0 && html`<${OnceHeard} site=${site} heard=${held.heard}><p class="notice">${say('crew.nothing-released')}</p><//>`}
    ${jobs.length > 0 && html`<p class="measure">${say('crew.of-fixtures-done', { done, fixtures })}</p>`}
    ${floors
      ?.map(({ floor, jobs: here }) => ({ floor, here: here.filter(({ stands }) => !keepsAway(stands)) }))
      .map(
        ({ floor, here }) =>
          here.length > 0 &&
          html`<section class="stack" key=${floor.id} aria-label=${titleOf(floor)}>
        <h2>${titleOf(floor)}</h2>
        <ul class="rows">${here.map((job) => html`<${JobRow} key=${job.group.id} site=${site} job=${job} />`)}</ul>
      </section>`,
      )}
  <//>`;
}

/** @param {Job[]} jobs @param {'done' | 'fixtures'} what */
const sum = (jobs, what) => jobs.reduce((total, job) => total + job[what], 0);

/** @param {{site: Site, job: Job}} props */
function JobRow({ site, job }) {
  const { room, kind, group, next, done, fixtures, problems } = job;
  const mark = kind?.facets.identity?.mark ?? '';
  const [changed] = job.stands?.changes ?? [];
  return html`<${Row} href=${fixturePath(site.id, group.id, next ?? positionsOf(group)[0] ?? 1)}
    title=${`${titleOf(room)} · ${mark}`}
    detail=${[changed && changeText(site, changed), job.summary, group.facets.identity?.note].filter(Boolean).join('; ')}
    end=${html`<span class="marks">
      <${HazardMarks} of=${[job]} />
      ${job.further.length > 0 && html`<${Mark} look="attention">${say('crew.not-in-release', { fixtures: ranges(job.further) })}<//>`}
      ${job.stands && job.stands.standing !== 'in force' && html`<${Mark} look="attention">${choiceText(job.stands.standing)}<//>`}
      <${Mark} look=${next === null ? 'done' : ''}>${say('crew.done-of-fixtures', { done, fixtures })}<//>
      ${problems > 0 && html`<${Mark} look="attention">${say('crew.with-a-problem', { problems })}<//>`}
    </span>`} />`;
}

/** A group that is not to be converted: that, and why, and nothing else. @param {{site: Site, job: Job}} props */
function StoppedRow({ site, job: { room, kind, group, next, stands } }) {
  const [changed] = stands?.changes ?? [];
  return html`<${Row} href=${fixturePath(site.id, group.id, next ?? positionsOf(group)[0] ?? 1)}
    title=${html`${titleOf(room)} · ${kind?.facets.identity?.mark ?? ''} <${Mark} look="attention">${choiceText(stands?.standing)}<//>`}
    detail=${changed && changeText(site, changed)} />`;
}
