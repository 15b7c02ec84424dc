// One room as a crew works in it: how far each fixture is, on with the next, what to take along, and who signs.

import { useState } from 'preact/hooks';
import { facet } from '../../rules/survey.js';
import { store } from '../../store/store.js';
import { fixturePath } from '../scanning/find_label.js';
import { Hazards } from '../crew/hazards.js';
import { keepsAway } from '../crew/standing_facts.js';
import { NotedNear } from '../crew/noted_near.js';
import { SurveyNotes } from '../crew/survey_notes.js';
import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { Caution, Facts, Mark, Problem } from '../parts/parts.js';
import { WorkAllowed } from '../parts/work_hours.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { choiceText, keptLengthText, say } from '../words.js';
import { assignment } from './assignment.js';
import { circuitsOf } from './circuits.js';
import { holds } from './days.js';
import { readDay, stoppedIn } from './read_day.js';
import { fixtureStateIn, LOOKS, roomState } from './room_state.js';
import { SignedMark } from './signed_mark.js';
import { SparesUsed } from './spares_used.js';
import { NotInRelease, Stopped } from './stopped.js';

/** @typedef {import('./read_day.js').Day} Day */
/** @typedef {import('../crew/jobs.js').Job} Job */
/** @typedef {{site: Site, day: Day, room: RecordView<'room'>, jobs: Job[]}} OfRoom */

/** @param {{params: {room: string}, site: Site}} props */
export function RoomOfDay({ params, site }) {
  const day = useLive(() => readDay(site), [site.id]);
  const room = /** @type {RecordView<'room'> | undefined} */ (day?.survey.get(params.room));
  const back = `/s/${site.id}/today`;
  if (!day) return html`<${Page} title=${say('page.room')} back=${back} site=${site.id} />`;
  if (!room || room.removed)
    return html`<${Page} title=${say('page.room')} back=${back} site=${site.id}><p class="notice">${say('sign.not-here')}</p><//>`;
  const jobs = day.floors.flatMap((floor) => floor.jobs).filter((job) => job.room.id === room.id);
  const floor = day.survey.get(room.parent);
  return html`<${Page} title=${titleOf(room)} over=${floor ? titleOf(floor) : site.name} back=${back} site=${site.id}
    act=${html`<${OnWith} site=${site} room=${room} jobs=${jobs} stopped=${stoppedIn(day, room.id)} />`}>
    ${
      jobs.length === 0
        ? html`<p class="notice">${say('crew.nothing-released')}</p>`
        : html`<${Shown} site=${site} day=${day} room=${room} jobs=${jobs} />`
    }
  <//>`;
}

/** What may be done now. @param {Job[]} jobs */
const allowed = (jobs) => jobs.filter(({ stands }) => !keepsAway(stands));

/** In reach of the thumb: the next fixture, or the signature once nothing is left. @param {{site: Site, room: RecordView<'room'>, jobs: Job[], stopped: number}} props */
function OnWith({ site, room, jobs, stopped }) {
  const next = allowed(jobs).find((job) => job.next !== null);
  if (!next && (jobs.length === 0 || stopped > 0)) return null;
  return next
    ? html`<a class="button main" href=${fixturePath(site.id, next.group.id, next.next ?? 1)}>${say('room-of-day.on-with', { mark: markOf(next), position: next.next })}</a>`
    : html`<a class="button main" href=${`/s/${site.id}/sign/${room.id}`}>${say('today.sign-of', { room: titleOf(room) })}</a>`;
}

/** @param {Job} job */
const markOf = ({ kind }) => kind?.facets.identity?.mark ?? '';

/** @param {OfRoom} props */
function Shown({ site, day, room, jobs }) {
  const work = allowed(jobs);
  const left = work.reduce((all, job) => all + job.left.length, 0);
  const fixtures = work.reduce((all, job) => all + job.fixtures, 0);
  const state = roomState(work, stoppedIn(day, room.id));
  const away = jobs.filter(({ stands }) => keepsAway(stands));
  return html`
    <${Hazards} of=${jobs} />
    <${NotedNear} site=${site} room=${room.id} />
    <p class="marks start">
      ${LOOKS[state] !== '' && html`<${Mark} look=${LOOKS[state]}>${say(`room-state.${state}`, { left })}<//>`}
      ${left > 0 && html`<${Mark}>${say('home.crew-left', { left, all: fixtures })}<//>`}
      <${SignedMark} day=${day} subject=${room.id} jobs=${jobs} />
    </p>
    <${Stopped} site=${site} jobs=${away} />
    <${NotInRelease} jobs=${work} />
    <${WorkAllowed} room=${room} />
    <${Holder} site=${site} day=${day} room=${room} />
    <${SurveyNotes} site=${site} of=${{ room }} />
    <${Before} site=${site} day=${day} room=${room} jobs=${work} />
    ${work.map((job) => html`<${Fixtures} key=${job.group.id} site=${site} job=${job} />`)}
    <nav class="stack" aria-label=${say('crew.go-on')}>
      <a class="button wide" href=${`/s/${site.id}/today/picking?room=${room.id}`}>${say('today.picking')}</a>
      <a class="button wide" href=${`/s/${site.id}/light/${room.id}`}>${say('light.title')}</a>
      <a class="button wide" href=${`/s/${site.id}/sign/${room.id}`}>${say('today.sign')}</a>
    </nav>
    <${SparesUsed} jobs=${jobs} day=${day.day} />`;
}

/** Who has the room today; a crew takes it or gives it back. @param {{site: Site, day: Day, room: RecordView<'room'>}} props */
function Holder({ site, day, room }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  const holders = day.holders.get(room.id) ?? [];
  const mine = holds(holders, store.person);
  const who = holders
    .map((each) => (each.person === store.person?.id ? say('today.mine') : each.who))
    .join(', ');
  const turn = () =>
    site
      .save([assignment(site, room.id, day.day, mine ? 'given-back' : 'taken')])
      .then(() => setError(null), setError);
  return html`<div class="side-by-side middle">
      <p>${who ? say('room-of-day.has-it', { who }) : say('room-of-day.nobody')}</p>
      ${mayWrite(site, 'assignment') && site.role === 'crew' && html`<button type="button" class="button" onClick=${turn}>${say(mine ? 'room-of-day.give-back' : 'room-of-day.take')}</button>`}
    </div>
    <${Problem} error=${error} />`;
}

/** What is seen to before one climbs: what is switched off, and how the fixtures are reached. @param {OfRoom} props */
function Before({ site, day, room, jobs }) {
  const found = circuitsOf(day.survey, jobs);
  const circuits = found.map(({ panel, circuit }) =>
    panel ? say('circuits.panel-circuit', { panel, circuit }) : say('circuits.not-seen'),
  );
  const access = facet(room, 'ceiling').access ?? 'not-seen';
  const height = facet(room, 'size').height_ticks;
  if (circuits.length === 0) return null;
  return html`<section class="card" aria-label=${say('room-of-day.before')}>
    <${Facts} facts=${[
      [say('room-of-day.switch-off'), circuits.join('; ')],
      [
        say('room-of-day.reached'),
        [choiceText(access), height && keptLengthText(height, undefined, true)].filter(Boolean).join(', '),
      ],
    ]} />
    <${Caution}>
      <p>${say('room-of-day.caution')}</p>
      ${found.some(({ sharedNeutral }) => sharedNeutral) && html`<p>${say('circuits.shared-neutral')}</p>`}
      ${found.some(({ secondSource }) => secondSource) && html`<p>${say('circuits.second-source')}</p>`}
    <//>
    <div class="side-by-side">
      <a class="button" href=${`/s/${site.id}/today/circuits?room=${room.id}`}>${say('today.circuits')}</a>
      <a class="button" href=${`/s/${site.id}/today/access?room=${room.id}`}>${say('today.access')}</a>
    </div>
  </section>`;
}

/** The fixtures of a group, each with its state. @param {{site: Site, job: Job}} props */
function Fixtures({ site, job }) {
  const { group, kind, summary, positions } = job;
  const title = kind ? titleOf(kind) : say('crew.kind-not-known');
  return html`<section class="stack" aria-label=${title}>
    <h2>${title}</h2>
    <p class="muted">${[summary, group.facets.identity?.note].filter(Boolean).join('; ')}</p>
    <${SurveyNotes} site=${site} of=${{ group }} />
    <ul class="fixture-tiles">${positions.map((position) => {
      const state = fixtureStateIn(job, position);
      const word = say(`fixture-state.${state}`);
      return html`<li key=${position}><a class=${`button fixture-tile ${LOOKS[state]}`} href=${fixturePath(site.id, group.id, position)} aria-label=${say('room-of-day.fixture', { position, state: word })}>
        <span class="measure">${position}</span><span class="word">${word}</span>
      </a></li>`;
    })}</ul>
  </section>`;
}
