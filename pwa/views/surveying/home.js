// The home of a site: what comes next for who is here, then the rooms.

import { readWork, roomsOf } from '../crew/jobs.js';
import { keepsAway } from '../crew/standing_facts.js';
import { SiteNotices } from '../first_run/setting_up.js';
import { useLive, useStatus } from '../hooks.js';
import { html } from '../html.js';
import { NotReadYet, OnceHeard } from '../parts/fetching.js';
import { Page } from '../parts/page.js';
import { Mark, Row } from '../parts/parts.js';
import { mayWrite, titleOf } from '../record_screens.js';
import { counted, say } from '../words.js';
import { Floors, howMuch } from './floors.js';
import { Jump } from './jump.js';
import { lastRoom } from './last_room.js';
import { alongTheWalk, isFinished, nextRoom } from './next_room.js';
import { readWalk } from './walk.js';

/** @typedef {Awaited<ReturnType<typeof readHome>>} HomeRead */
/** @typedef {{site: Site, read: HomeRead}} OfHome */

/** All that the home shows, read before any of it is drawn: nothing moves what is there already. @param {Site} site */
async function readHome(site) {
  const { heard } = site.engine;
  const read = await readWalk(site);
  const walk = alongTheWalk(read.floors, read.rooms);
  const jobs = site.role === 'crew' ? (await readWork(site)).flatMap((floor) => floor.jobs) : [];
  const [work, away] = [roomsOf(jobs), jobs.filter(({ stands }) => keepsAway(stands)).length];
  const toDo = new Set(work.filter(({ left }) => left > 0).map(({ room }) => room.id));
  const last = lastRoom(site.id);
  const next = site.role === 'crew' ? nextRoom(walk, last, ({ id }) => toDo.has(id)) : nextRoom(walk, last);
  return { ...read, heard, walk, work, away, next, last };
}

/** @type {Record<string, (props: OfHome) => Child>} */
const NEXT = { surveyor: ForSurveyor, crew: ForCrew, manager: ForManager, owner: ForManager };

/** @param {{site: Site}} props */
export function Home({ site }) {
  const read = useLive(() => readHome(site), [site.id]);
  if (!read && !site.engine.heard) return html`<${NotReadYet} site=${site} />`;
  if (!read)
    return html`<${Page} title=${site.name} over=${say('place.home')} back="/" site=${site.id} look="home" />`;
  const Next = NEXT[site.role] ?? ForOnlooker;
  return html`<${Page} title=${site.name} over=${say('place.home')} back="/" site=${site.id} look="home">
    <${SiteNotices} site=${site} />
    <section class="next stack" aria-label=${say('home.next')}><${Next} site=${site} read=${read} /></section>
    <${Floors} site=${site} read=${read} here=${read.next?.parent ?? read.floors[0]?.id ?? null} />
  <//>`;
}

/** @param {OfHome} props */
const NoRooms = ({ site, read }) =>
  html`<${OnceHeard} site=${site} heard=${read.heard}><p class="notice">${say('home.no-rooms')}</p><//>`;

/** @param {OfHome} props */
function ForSurveyor({ site, read }) {
  const { next } = read;
  if (read.walk.length === 0) return html`<${NoRooms} site=${site} read=${read} />`;
  return html`
    ${next ? html`<${OnWith} site=${site} read=${read} room=${next} />` : html`<p class="notice">${say('home.nothing-left')}</p>`}
    <ul class="rows">
      ${next && html`<${Row} href=${`/s/${site.id}/open-points?room=${next.id}`} title=${say('home.open-here', { room: titleOf(next) })} end="→" />`}
      <${Row} href=${`/s/${site.id}/open-points`} title=${say('home.open-all')} end="→" />
      <${NotSentRow} site=${site} />
    </ul>
    <${Jump} site=${site} walk=${read.walk} />`;
}

/** The room to go on with, and how many are left around it. @param {OfHome & {room: RecordView<'room'>}} props */
function OnWith({ site, read, room }) {
  const floor = read.floors.find(({ id }) => id === room.parent);
  const there = read.walk.filter(({ parent }) => parent === room.parent);
  const left = there.filter((each) => !isFinished(each)).length;
  const started = read.last !== null || read.walk.some(isFinished);
  return html`<a class="button main wide on-with" href=${`/s/${site.id}/room/${room.id}`}>
      ${say(started ? 'home.on-with' : 'home.begin-with', { room: titleOf(room) })}
    </a>
    <p class="muted small">${howMuch(read.rows.get(room.id))}. ${floor && `${say('home.rooms-left', { left, all: there.length, floor: titleOf(floor) })}.`}</p>`;
}

/** Always a row, so that nothing moves when something waits. @param {{site: Site}} props */
function NotSentRow({ site }) {
  useStatus();
  const { unsent, photos } = site.engine.status;
  return html`<${Row} href=${`/s/${site.id}/unsent`} title=${say('place.unsent')} end=${unsent + photos} />`;
}

/** Scanning and the list of all work are in the bar. @param {OfHome} props */
function ForCrew({ site, read: { heard, work, away, next } }) {
  const first = work.find(({ room }) => room.id === next?.id)?.path;
  const stopped =
    away > 0 &&
    html`<ul class="rows"><${Row} href=${`/s/${site.id}/work`} title=${html`<${Mark} look="attention">${say('crew.stopped', { groups: counted(away, 'group') })}<//>`} end="→" /></ul>`;
  if (work.length === 0)
    return (
      stopped ||
      html`<${OnceHeard} site=${site} heard=${heard}><p class="notice">${say('home.crew-none')}</p><//>`
    );
  return html`
    ${stopped}
    ${next && first ? html`<a class="button main wide on-with" href=${`/s/${site.id}${first}`}>${say('home.on-with', { room: titleOf(next) })}</a>` : !stopped && html`<p class="notice">${say('home.crew-done')}</p>`}
    <h2>${say('home.crew-rooms')}</h2>
    <ul class="rows">
      ${work.map(
        ({ room, fixtures, left, path }) =>
          html`<${Row} key=${room.id} href=${`/s/${site.id}${path}`} title=${titleOf(room)}
            end=${html`<${Mark} look=${left === 0 ? 'done' : ''}>${say('home.crew-left', { left, all: fixtures })}<//>`} />`,
      )}
    </ul>`;
}

/** @param {OfHome} props */
function ForManager({ site, read }) {
  useStatus();
  const { conflicts } = site.engine.status;
  const done = read.walk.filter(isFinished).length;
  return html`
    ${
      read.walk.length === 0
        ? html`<${NoRooms} site=${site} read=${read} />`
        : html`<div class="share">
        <p class="strong">${say('home.rooms-done', { done, all: read.walk.length })}</p>
        <progress max=${read.walk.length} value=${done} aria-label=${say('home.all-rooms')}></progress>
      </div>`
    }
    <ul class="rows">
      <${Row} href=${`/s/${site.id}/open-points`} title=${say('home.open-all')} end="→" />
      <${Row} href=${`/s/${site.id}/conflicts`} title=${say('place.conflicts')} end=${conflicts} />
      <${Row} href=${`/s/${site.id}/new`} title=${say('place.new')} end="→" />
      <${NotSentRow} site=${site} />
      <${Row} href=${`/s/${site.id}/desk`} title=${say('place.desk')} detail=${say('home.at-the-desk')} end="→" />
    </ul>
    ${read.next && html`<a class="button wide" href=${`/s/${site.id}/room/${read.next.id}`}>${say('home.on-with', { room: titleOf(read.next) })}</a>`}`;
}

/** Who may write nothing: the building's own people, an auditor. @param {OfHome} props */
function ForOnlooker({ site, read }) {
  const done = read.walk.filter(isFinished).length;
  return html`<p class="notice">${say('home.look-only')}</p>
    ${mayWrite(site, 'failure') && html`<a class="button main wide" href=${`/s/${site.id}/scan`}>${say('place.scan')}</a><p>${say('home.look-and-report')}</p>`}
    <p>${say('home.rooms-done', { done, all: read.walk.length })}</p>`;
}
