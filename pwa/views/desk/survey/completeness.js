// Is the survey complete? By floor and room, with every open point and the way to close it; and what crews have done.

import { useState } from 'preact/hooks';
import { html } from '../../html.js';
import { useMedia, WIDE } from '../../parts/bar.js';
import { useFollowed } from '../../parts/when_heard.js';
import { choiceText, counted, say } from '../../words.js';
import { Fold } from '../fold.js';
import { Answer, Desk, number, Share, Table, useServer, Window } from '../parts.js';
import { StoppedReleased, standsStill, useStoppedReleased } from '../releases/stopped_released.js';
import { FloorsAndRooms } from './pictures.js';
import { PointsBy } from './points_by.js';

const ROOMS_AT_ONCE = 100;

/** @param {{site: Site}} props */
export function Completeness({ site }) {
  const turn = useFollowed(site);
  const answer = useServer(`/api/sites/${site.id}/completeness?points=no`, [turn]);
  return html`<${Desk} site=${site} at="" title=${say('desk.completeness')}>
    <${Answer} answer=${answer}>${(/** @type {CompletenessTold} */ told) => html`<${Told} site=${site} told=${told} turn=${turn} />`}<//>
  <//>`;
}

/** How the whole site stands, as a code. That orders can go out is said once it is known that no released work stands still. @param {CompletenessTold} told @param {import('../releases/stopped_released.js').StoppedReleased | undefined} still */
function headOf({ complete, rooms }, still) {
  if (complete) return still && !standsStill(still) ? 'desk.complete' : 'desk.complete-survey';
  return rooms.known === 0 ? 'desk.no-room-yet' : 'desk.open';
}

/** @param {{site: Site, told: CompletenessTold, turn: unknown}} props */
function Told({ site, told, turn }) {
  const wide = useMedia(WIDE);
  const still = useStoppedReleased(site);
  const open = told.rooms.known + told.points > 0 && html`<${PointsBy} site=${site} turn=${turn} />`;
  return html`
    <section class="card" aria-label=${say('page.the-whole-site')}>
      <p class="verdict ${told.complete && !standsStill(still) ? 'fits' : ''}">${say(headOf(told, still), { points: counted(told.points, 'open-point') })}</p>
      ${
        told.rooms.known > 0 &&
        html`<div class="side-by-side">
        <${Share} title=${say('desk.rooms-complete-title')} complete=${told.rooms.complete} known=${told.rooms.known} />
        <${Share} title=${say('desk.known-fixtures-complete')} complete=${told.fixtures.complete} known=${told.fixtures.known} />
      </div>`
      }
      <p class="muted">${say('desk.rooms-hold')}</p>
    </section>
    <${StoppedReleased} site=${site} told=${still} />
    ${!wide && open}
    ${
      told.floors.length > 0 &&
      html`<${Fold} title=${say('desk.by-floor')}><${Table} stacks caption=${say('desk.by-floor')} numbers=${[1, 2, 3, 4]} heads=${[say('desk.floor'), say('desk.rooms-complete-title'), say('desk.fixtures-complete'), say('desk.open-points'), say('desk.installed')]}
      rows=${told.floors.map((floor) => [
        floor.name,
        say('desk.complete-of-known', { complete: floor.rooms.complete, known: floor.rooms.known }),
        say('desk.complete-of-known', { complete: floor.fixtures.complete, known: floor.fixtures.known }),
        number(floor.points),
        installedText(told.installed[floor.id]),
      ])} /><//>`
    }
    <${FloorsAndRooms} floors=${told.floors} />
    ${wide && open}
    ${!open && html`<a class="button" href=${`/s/${site.id}`}>${say('set-up.rooms')}</a>`}
    ${told.floors.length > 0 && html`<h2>${say('desk.rooms')}</h2>`}
    ${told.floors.map((floor) => html`<${Rooms} key=${floor.id} site=${site} floor=${floor} />`)}`;
}

/** @param {{site: Site, floor: import('../../../rules/points/completeness.js').FloorEntry}} props */
function Rooms({ site, floor }) {
  const [opened, setOpened] = useState(false);
  return html`<details onToggle=${(/** @type {EventOf<HTMLDetailsElement>} */ event) => setOpened(event.currentTarget.open)}>
    <summary>${floor.name}: ${counted(floor.in_rooms.length, 'room')}</summary>
    ${opened && html`<${RoomsTable} site=${site} floor=${floor} />`}
  </details>`;
}

/** A hundred rooms at once. @param {{site: Site, floor: import('../../../rules/points/completeness.js').FloorEntry}} props */
function RoomsTable({ site, floor }) {
  const [from, setFrom] = useState(0);
  return html`<${Table} caption=${say('desk.rooms-of', { floor: floor.name })} numbers=${[2, 3]} heads=${[say('page.room'), say('page.progress'), say('desk.fixtures-complete'), say('desk.open-points')]}
      rows=${floor.in_rooms
        .slice(from, from + ROOMS_AT_ONCE)
        .map((room) => [
          html`<a href=${`/s/${site.id}/room/${room.id}`}>${[room.number, room.name].filter(Boolean).join(' ') || say('desk.room-without-a-name')}</a>`,
          room.complete
            ? say('desk.complete-of-progress', { progress: choiceText(room.progress) })
            : choiceText(room.progress),
          say('desk.complete-of-known', { complete: room.fixtures.complete, known: room.fixtures.known }),
          number(room.points),
        ])} />
    <${Window} total=${floor.in_rooms.length} from=${from} size=${ROOMS_AT_ONCE} onFrom=${setFrom} />`;
}

/** @param {Record<string, number> | undefined} counts */
function installedText(counts) {
  if (!counts) return '–';
  return ['done', 'problem', 'skipped']
    .filter((outcome) => counts[outcome])
    .map((outcome) => `${counts[outcome]} ${choiceText(outcome)}`)
    .join(', ');
}
