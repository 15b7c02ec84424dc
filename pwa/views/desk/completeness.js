// Is the survey complete? By floor and room, with every open point and the way to close it; and what crews have done.

import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { byOrder } from '../newest.js';
import { OpenPoint } from '../parts/open_point.js';
import { choiceText, counted, say } from '../words.js';
import { Answer, Desk, number, Share, Table, useServer } from './parts.js';

/** @param {{site: Site}} props */
export function Completeness({ site }) {
  const records = useLive(() => site.everything(), [site.id]);
  const answer = useServer(`/api/sites/${site.id}/completeness`, [records]);
  return html`<${Desk} site=${site} at="" title=${say('desk.completeness')}>
    <${Answer} answer=${answer}>${(/** @type {CompletenessTold} */ told) => html`<${Told} site=${site} told=${told} records=${records ?? []} />`}<//>
  <//>`;
}

/** How the whole site stands, as a code. @param {CompletenessTold} told */
function headOf({ complete, rooms }) {
  if (complete) return 'desk.complete';
  return rooms.known === 0 ? 'desk.no-room-yet' : 'desk.open';
}

/** @param {{site: Site, told: CompletenessTold, records: RecordView[]}} props */
function Told({ site, told, records }) {
  const done = installedByFloor(records);
  return html`
    <section class="card" aria-label=${say('page.the-whole-site')}>
      <p class="verdict ${told.complete ? 'fits' : ''}">${say(headOf(told), { points: counted(told.points, 'open-point') })}</p>
      ${
        told.rooms.known > 0 &&
        html`<div class="side-by-side">
        <${Share} title=${say('desk.rooms-complete')} complete=${told.rooms.complete} known=${told.rooms.known} />
        <${Share} title=${say('desk.known-fixtures-complete')} complete=${told.fixtures.complete} known=${told.fixtures.known} />
      </div>`
      }
      <p class="muted">${say('desk.rooms-hold')}</p>
    </section>
    ${
      told.floors.length > 0 &&
      html`<${Table} stacks caption=${say('desk.by-floor')} numbers=${[1, 2, 3, 4]} heads=${[say('desk.floor'), say('desk.rooms-complete-title'), say('desk.fixtures-complete'), say('desk.open-points'), say('desk.installed')]}
      rows=${told.floors.map((floor) => [
        floor.name,
        say('desk.complete-of-known', { complete: floor.rooms.complete, known: floor.rooms.known }),
        say('desk.complete-of-known', { complete: floor.fixtures.complete, known: floor.fixtures.known }),
        number(floor.points),
        installedText(done.get(floor.id)),
      ])} />`
    }
    <${Points} site=${site} told=${told} />
    ${told.floors.length > 0 && html`<h2>${say('desk.rooms')}</h2>`}
    ${told.floors.map((floor) => html`<${Rooms} key=${floor.id} site=${site} floor=${floor} />`)}`;
}

/** @param {{site: Site, told: CompletenessTold}} props */
function Points({ site, told }) {
  const floors = [{ id: null, name: say('page.the-whole-site') }, ...told.floors];
  return html`<h2>${say('desk.open-points')}</h2>
    ${!told.open_points.length && html`<p>${say('desk.no-points')}</p>`}
    ${floors.map((floor) => {
      const points = told.open_points.filter((point) => point.floor === floor.id);
      if (!points.length) return null;
      return html`<details class="points" key=${floor.id} open>
        <summary>${floor.name}: ${counted(points.length, 'open-point')}</summary>
        <ul class="rows">${points.map((point) => html`<${OpenPoint} key=${`${point.rule} ${point.record}`} site=${site} point=${point} />`)}</ul>
      </details>`;
    })}`;
}

/** @param {{site: Site, floor: import('../../rules/completeness.js').FloorEntry}} props */
function Rooms({ site, floor }) {
  return html`<details><summary>${floor.name}: ${counted(floor.in_rooms.length, 'room')}</summary>
    <${Table} caption=${say('desk.rooms-of', { floor: floor.name })} numbers=${[2, 3]} heads=${[say('page.room'), say('page.progress'), say('desk.fixtures-complete'), say('desk.open-points')]}
      rows=${floor.in_rooms.map((room) => [
        html`<a href=${`/s/${site.id}/room/${room.id}`}>${[room.number, room.name].filter(Boolean).join(' ') || say('desk.room-without-a-name')}</a>`,
        room.complete
          ? say('desk.complete-of-progress', { progress: choiceText(room.progress) })
          : choiceText(room.progress),
        say('desk.complete-of-known', { complete: room.fixtures.complete, known: room.fixtures.known }),
        number(room.points),
      ])} />
  </details>`;
}

/** The newest outcome of each fixture, counted by floor. @param {RecordView[]} records @returns {Map<string, Record<string, number>>} */
export function installedByFloor(records) {
  const live = new Map(records.filter((record) => !record.removed).map((record) => [record.id, record]));
  /** @type {Map<string, RecordView<'installation'>>} */
  const newest = new Map();
  const installations = /** @type {RecordView<'installation'>[]} */ (
    [...live.values()].filter(({ type }) => type === 'installation')
  ).sort(byOrder);
  for (const record of installations)
    newest.set(`${record.parent} ${record.facets.identity?.position}`, record);
  /** @type {Map<string, Record<string, number>>} */
  const floors = new Map();
  for (const record of newest.values()) {
    const floor = live.get(live.get(record.parent ?? '')?.parent ?? '')?.parent ?? '';
    const counts = floors.get(floor) ?? {};
    const outcome = record.facets.identity?.outcome ?? '';
    counts[outcome] = (counts[outcome] ?? 0) + 1;
    floors.set(floor, counts);
  }
  return floors;
}

/** @param {Record<string, number> | undefined} counts */
function installedText(counts) {
  if (!counts) return '–';
  return ['done', 'problem', 'skipped']
    .filter((outcome) => counts[outcome])
    .map((outcome) => `${counts[outcome]} ${choiceText(outcome)}`)
    .join(', ');
}
