// What there is to do: released groups room by room in the order of the walk, and how far each is.

import { facet, positionsOf, Survey } from '../../rules/survey.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { byOrder } from '../newest.js';
import { Page } from '../parts/page.js';
import { Mark, Row } from '../parts/parts.js';
import { titleOf } from '../places.js';
import { inFloorOrder, inWalkOrder } from '../surveying/survey.js';
import { choiceText, counted, say } from '../words.js';
import { fixturePath } from './find_label.js';
import { keepsAway, standingsOf } from './standing_facts.js';
import { changeText } from './standing_notice.js';

/**
 * What there is to do in one group.
 * @typedef {{room: RecordView<'room'>, group: RecordView<'group'>, kind: RecordView<'kind'> | undefined, summary: string, fixtures: number, done: number, problems: number, next: number | null,
 *   stands: import('../../rules/standing.js').Standing | undefined}} Job
 */

/** @template {string} T @param {RecordView<T>[]} records @returns {Map<string | null, RecordView<T>[]>} by parent */
function byParent(records) {
  /** @type {Map<string | null, RecordView<T>[]>} */
  const found = new Map();
  for (const record of records) {
    const beside = found.get(record.parent);
    if (beside) beside.push(record);
    else found.set(record.parent, [record]);
  }
  return found;
}

/** The newest word on each position. @param {RecordView<'installation'>[]} installations @returns {Map<number, string>} */
export function outcomes(installations) {
  const inOrder = [...installations].sort(byOrder);
  return new Map(
    inOrder.map(({ facets }) => [facets.identity?.position ?? 0, facets.identity?.outcome ?? '']),
  );
}

/** @param {RecordView<'group'>} group @param {RecordView<'room'>} room @param {RecordView<'kind'> | undefined} kind @param {RecordView<'conversion'>} conversion @param {RecordView<'installation'>[]} installations @returns {Omit<Job, 'stands'>} */
function jobOf(group, room, kind, conversion, installations) {
  const positions = positionsOf(group);
  const told = outcomes(installations);
  const { summary, arrangement } = facet(conversion, 'identity');
  return {
    room,
    group,
    kind,
    summary: summary ?? arrangement,
    fixtures: positions.length,
    done: positions.filter((each) => told.get(each) === 'done').length,
    problems: positions.filter((each) => told.get(each) === 'problem').length,
    next: positions.find((each) => told.get(each) !== 'done') ?? null,
  };
}

/** @param {RecordView<'conversion'>[]} conversions @returns {RecordView<'conversion'>} the one of the newest release */
const newestOf = (conversions) =>
  conversions.reduce((a, b) => (facet(b, 'identity').number > facet(a, 'identity').number ? b : a));

/** Every released group as a job, in the order of the walk. @param {Site} site @returns {Promise<Array<{floor: RecordView<'floor'>, jobs: Job[]}>>} */
async function readWork(site) {
  const survey = new Survey(await site.everything());
  /** @template {RecordType} T @param {T} type @returns {RecordView<T>[]} */
  const all = (type) => /** @type {RecordView<T>[]} */ (survey.ofType(type));
  const [rooms, groups, kinds] = [all('room'), all('group'), all('kind')];
  const standings = standingsOf(survey, site.reference);
  const [groupsIn, conversionsOf, done] = /** @type {const} */ ([
    byParent(groups),
    byParent(all('conversion')),
    byParent(all('installation')),
  ]);
  const kindOf = new Map(kinds.map((kind) => [kind.id, kind]));
  /** @param {RecordView<'room'>} room */
  const jobsIn = (room) =>
    (groupsIn.get(room.id) ?? [])
      .filter((group) => conversionsOf.has(group.id))
      .map((group) => ({
        stands: standings.get(group.id),
        ...jobOf(
          group,
          room,
          kindOf.get(facet(group, 'identity').kind),
          newestOf(conversionsOf.get(group.id) ?? []),
          done.get(group.id) ?? [],
        ),
      }));
  return inFloorOrder(all('floor'))
    .map((floor) => ({
      floor,
      jobs: inWalkOrder(rooms.filter((room) => room.parent === floor.id)).flatMap(jobsIn),
    }))
    .filter(({ jobs }) => jobs.length > 0);
}

/** @param {{site: Site}} props */
export function Work({ site }) {
  const floors = useLive(() => readWork(site), [site.id]);
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
    ${floors && every.length === 0 && html`<p class="notice">${say('crew.nothing-released')}</p>`}
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
