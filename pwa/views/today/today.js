// A crew's day: the rooms that are mine today, the lists for them, and what came back from the desk.

import { useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { fixturePath } from '../scanning/find_label.js';
import { HazardMarks } from '../crew/hazards.js';
import { html } from '../html.js';
import { OnceHeard } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Mark, Problem, Row } from '../parts/parts.js';
import { useReadAndHeard } from '../parts/when_heard.js';
import { hoursOf, hoursText } from '../parts/work_hours.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { dayText } from '../numbers.js';
import { choiceText, counted, say } from '../words.js';
import { assignment } from './assignment.js';
import { holds } from './days.js';
import { PlanOfDay, roomPath } from './plan_of_day.js';
import { byRoom, readDay, stoppedIn } from './read_day.js';
import { isFromTheDesk, LOOKS, roomState } from './room_state.js';
import { SignedMark } from './signed_mark.js';
import { NotInRelease, Stopped } from './stopped.js';
import { SparesUsed } from './spares_used.js';

/** @typedef {import('./read_day.js').Day} Day */
/** @typedef {ReturnType<typeof byRoom>[number]} RoomOfDay */
/** @typedef {{site: Site, day: Day}} OfDay */

/** @param {{site: Site}} props */
export function Today({ site }) {
  const held = useReadAndHeard(site, () => readDay(site), [site.id]);
  return html`<${Page} title=${say('place.today')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    ${held && html`<${Told} site=${site} day=${held.read} heard=${held.heard} />`}
  <//>`;
}

/** @param {OfDay & {heard: boolean}} props */
function Told({ site, day, heard }) {
  if (day.jobs.length === 0)
    return day.stopped.length > 0
      ? html`<${Stopped} site=${site} jobs=${day.stopped} />`
      : html`<${OnceHeard} site=${site} heard=${heard}><p class="notice">${say('crew.nothing-released')}</p><//>`;
  return html`
    <p class="strong">${dayText(day.day)}</p>
    <${Stopped} site=${site} jobs=${day.stopped} />
    <${NotInRelease} jobs=${day.mine} />
    <${FromTheDesk} site=${site} day=${day} />
    <${MyRooms} site=${site} day=${day} />
    <nav aria-label=${say('today.lists')}><ul class="rows">
      <${Row} href=${`/s/${site.id}/today/picking`} title=${say('today.picking')} detail=${say('today.picking-help')} end="→" />
      <${Row} href=${`/s/${site.id}/today/circuits`} title=${say('today.circuits')} detail=${say('today.circuits-help')} end="→" />
      <${Row} href=${`/s/${site.id}/today/access`} title=${say('today.access')} detail=${say('today.access-help')} end="→" />
      <${Row} href=${`/s/${site.id}/receive`} title=${say('place.receive')} detail=${say('receive.help')} end="→" />
      <${Row} href=${`/s/${site.id}/stock`} title=${say('place.stock')} detail=${say('stock.help')} end="→" />
      <${Row} href=${`/s/${site.id}/work`} title=${say('today.all-work')} end="→" />
      <${Row} href=${`/s/${site.id}/accept`} title=${say('today.acceptance')} detail=${say('today.acceptance-help')} end="→" />
    </ul></nav>
    <${Floors} site=${site} day=${day} />
    <${SparesUsed} jobs=${day.jobs} day=${day.day} />
    <${TakeRooms} site=${site} day=${day} />`;
}

/** Answers to problems and what was sent back: where a crew goes on. @param {OfDay} props */
function FromTheDesk({ site, day }) {
  const lines = day.jobs.flatMap((job) =>
    [...job.told]
      .filter(([, noted]) => isFromTheDesk(noted))
      .map(([position, { state }]) => ({ job, position, state })),
  );
  if (lines.length === 0) return null;
  return html`<section class="stack" aria-label=${say('today.from-the-desk')}>
    <h2>${say('today.from-the-desk')}</h2>
    <ul class="rows">${lines.map(
      ({ job, position, state }) =>
        html`<${Row} key=${`${job.group.id} ${position}`} href=${fixturePath(site.id, job.group.id, position)}
          title=${say('today.fixture', { room: titleOf(job.room), mark: job.kind?.facets.identity?.mark ?? '', position })}
          end=${html`<${Mark} look="attention">${choiceText(state)}<//>`} />`,
    )}</ul>
  </section>`;
}

/** By floor, on its plan where it has one. @param {OfDay} props */
function MyRooms({ site, day }) {
  const rooms = byRoom(day.mine);
  const left = rooms.reduce((all, room) => all + room.left, 0);
  const floors = day.floors.filter(({ floor }) => rooms.some(({ room }) => room.parent === floor.id));
  return html`<section class="stack" aria-label=${say('today.my-rooms')}>
    <h2>${say('today.my-rooms')}</h2>
    ${
      rooms.length === 0
        ? html`<p class="notice">${say('today.no-rooms')}</p>`
        : html`<p class="measure">${say('today.left-in-rooms', { fixtures: counted(left, 'fixture'), rooms: counted(rooms.length, 'room') })}</p>`
    }
    ${day.unfinished.length > 0 && html`<p class="notice">${say('today.unfinished', { rooms: byRoom(day.unfinished).map(({ room }) => titleOf(room)) })}</p>`}
    ${floors.map(
      ({ floor }) => html`<section class="stack" key=${floor.id} aria-label=${titleOf(floor)}>
        <h3>${titleOf(floor)}</h3>
        <${PlanOfDay} site=${site} day=${day} floor=${floor.id} />
        <ul class="rows">${rooms.filter(({ room }) => room.parent === floor.id).map((room) => html`<${RoomRow} key=${room.room.id} site=${site} day=${day} of=${room} />`)}</ul>
      </section>`,
    )}
  </section>`;
}

/** A room of today: to its screen, to its list, to sign it. @param {OfDay & {of: RoomOfDay}} props */
function RoomRow({ site, day, of: { room, jobs, fixtures, left } }) {
  const others = (day.holders.get(room.id) ?? [])
    .filter(({ person }) => person !== store.person?.id)
    .map(({ who }) => who);
  const stopped = stoppedIn(day, room.id);
  const state = roomState(jobs, stopped);
  const hours = hoursOf(room);
  return html`<li class="room-of-day">
    <a class="row" href=${roomPath(site.id, room.id)}>
      <span><span class="title">${titleOf(room)}</span>
        ${others.length > 0 && html`<span class="detail">${say('today.with', { others: others.join(', ') })}</span>`}
        ${hours && html`<span class="detail">${say('schedule.allowed', { hours: hoursText(hours) })}</span>`}</span>
      <span class="end marks">
        <${HazardMarks} of=${jobs} />
        ${LOOKS[state] === 'attention' && html`<${Mark} look="attention">${say(`room-state.${state}`)}<//>`}
        <${Mark} look=${left === 0 && stopped === 0 ? 'done' : ''}>${say('home.crew-left', { left, all: fixtures })}<//>
        <${SignedMark} day=${day} subject=${room.id} jobs=${jobs} />
      </span>
    </a>
    <p class="side-by-side">
      <a class="button" href=${`/s/${site.id}/today/picking?room=${room.id}`} aria-label=${say('today.picking-of', { room: titleOf(room) })}>${say('today.pick')}</a>
      <a class="button" href=${`/s/${site.id}/sign/${room.id}`} aria-label=${say('today.sign-of', { room: titleOf(room) })}>${say('today.sign')}</a>
    </p>
  </li>`;
}

/** What is loaded and signed floor by floor. @param {OfDay} props */
function Floors({ site, day }) {
  return html`<section class="stack" aria-label=${say('today.floors')}>
    <h2>${say('today.floors')}</h2>
    <ul class="rows">${day.floors.map(({ floor, jobs }) => {
      const here = jobs.filter((job) => day.jobs.includes(job));
      const stopped = jobs.some((job) => day.stopped.includes(job) || job.further.length > 0);
      const [left, all] = [
        here.flatMap((job) => job.left).length,
        here.reduce((sum, job) => sum + job.fixtures, 0),
      ];
      return html`<li class="room-of-day" key=${floor.id}>
        <p class="row-text"><span class="strong">${titleOf(floor)}</span>
          <span class="marks"><${Mark} look=${left === 0 && !stopped ? 'done' : ''}>${say('home.crew-left', { left, all })}<//>
          <${SignedMark} day=${day} subject=${floor.id} jobs=${jobs} /></span></p>
        <p class="side-by-side">
          <a class="button" href=${`/s/${site.id}/today/picking?floor=${floor.id}`} aria-label=${say('today.picking-of', { room: titleOf(floor) })}>${say('today.pick')}</a>
          <a class="button" href=${`/s/${site.id}/sign/${floor.id}`} aria-label=${say('today.sign-of', { room: titleOf(floor) })}>${say('today.sign')}</a>
        </p>
      </li>`;
    })}</ul>
  </section>`;
}

/** All rooms in which something is left, to take or give back by one tap. @param {OfDay} props */
function TakeRooms({ site, day }) {
  const [error, setError] = useState(/** @type {unknown} */ (null));
  // Open where nothing is mine yet, and so it stays while rooms are taken.
  const [open] = useState(day.mine.length === 0);
  if (!mayWrite(site, 'assignment') || site.role !== 'crew') return null;
  /** @param {RecordView<'room'>} room @param {boolean} taken */
  const take = async (room, taken) => {
    setError(null);
    try {
      await site.save([assignment(site, room.id, day.day, taken ? 'taken' : 'given-back')]);
    } catch (problem) {
      setError(problem);
    }
  };
  return html`<details class="card" open=${open}>
    <summary class="turn">${say('today.take-rooms')}</summary>
    <${Problem} error=${error} />
    ${day.floors.map(({ floor, jobs }) => {
      const rooms = byRoom(jobs.filter((job) => day.jobs.includes(job)));
      return (
        rooms.length > 0 &&
        html`<fieldset class="plain-set" key=${floor.id}>
        <legend class="label">${titleOf(floor)}</legend>
        ${rooms.map(
          ({ room, left, fixtures }) => html`<label class="check-line" key=${room.id}>
          <input type="checkbox" checked=${holds(day.holders.get(room.id), store.person)} onChange=${(/** @type {EventOf<HTMLInputElement>} */ event) => take(room, event.currentTarget.checked)} />
          <span>${titleOf(room)}: ${say('home.crew-left', { left, all: fixtures })}${heldBy(day, room.id)}</span>
        </label>`,
        )}
      </fieldset>`
      );
    })}
  </details>`;
}

/** @param {Day} day @param {string} room */
function heldBy(day, room) {
  const who = (day.holders.get(room) ?? []).map((each) => each.who);
  return who.length > 0 ? ` (${who.join(', ')})` : '';
}
