// Floors that fold, with their rooms; which stand open is kept while one works.

import { useState } from 'preact/hooks';
import { html } from '../html.js';
import { Mark, Row } from '../parts/parts.js';
import { RoomVerdict } from '../parts/room_verdict.js';
import { mayRead, mayWrite, titleOf } from '../record_screens.js';
import { choiceText, counted, say } from '../words.js';
import { byFloor } from './next_room.js';

/** In a building with more rooms than this only the floor where one is stands open. */
const ALL_OPEN = 60;

/** @typedef {Awaited<ReturnType<typeof import('./walk.js').readWalk>>} WalkRead */

/** @param {string} site */
const keyOf = (site) => `spanwalk:floors:${site}`;

/** What was folded or unfolded by hand. @param {string} site @returns {Record<string, boolean>} */
function byHand(site) {
  try {
    return JSON.parse(sessionStorage.getItem(keyOf(site)) ?? '{}');
  } catch {
    return {};
  }
}

/** @param {{site: Site, read: WalkRead, here: string | null}} props `here`: the floor on which one is */
export function Floors({ site, read, here }) {
  const [hands, setHands] = useState(() => byHand(site.id));
  const allOpen = read.rooms.length <= ALL_OPEN;
  const placed = new Set(read.floors.map((floor) => floor.id));
  const on = byFloor(read.rooms);
  const lost = read.rooms.filter((room) => !placed.has(room.parent ?? ''));
  /** @param {string} floor @param {boolean} open */
  const fold = (floor, open) => {
    const next = { ...hands, [floor]: open };
    setHands(next);
    try {
      sessionStorage.setItem(keyOf(site.id), JSON.stringify(next));
    } catch {
      // It is open or folded on this screen all the same.
    }
  };
  return html`<section class="stack" aria-label=${say('home.all-rooms')}>
    ${read.floors.map(
      (floor) =>
        html`<${Floor} key=${floor.id} site=${site} floor=${floor} rooms=${on.get(floor.id) ?? []} rows=${read.rows}
          open=${hands[floor.id] ?? (allOpen || floor.id === here)} onFold=${(/** @type {boolean} */ open) => fold(floor.id, open)} />`,
    )}
    ${lost.length > 0 && html`<section class="floor"><h2>${say('survey.on-no-floor-that-is')}</h2><${Rooms} site=${site} rooms=${lost} rows=${read.rows} /></section>`}
    ${mayWrite(site, 'floor') && html`<a class="button wide" href=${`/s/${site.id}/floor/new`}>${say('survey.add-a-floor')}</a>`}
  </section>`;
}

/** @param {{site: Site, floor: RecordView<'floor'>, rooms: RecordView<'room'>[], rows: Map<string, Summary>, open: boolean, onFold: (open: boolean) => void}} props */
function Floor({ site, floor, rooms, rows, open, onFold }) {
  const fixtures = rooms.reduce((sum, room) => sum + (rows.get(room.id)?.fixtures ?? 0), 0);
  const inside = `floor-${floor.id}`;
  return html`<section class="floor" aria-label=${titleOf(floor)}>
    <h2><button type="button" class="floor-fold" aria-expanded=${open} aria-controls=${inside} onClick=${() => onFold(!open)}>
      <span class="fold-sign" aria-hidden="true"></span>
      <span>${titleOf(floor)}</span><span class="muted small">${counted(rooms.length, 'room')}, ${counted(fixtures, 'fixture')}</span>
    </button></h2>
    <div id=${inside} class="stack" hidden=${!open}>
      ${open && html`<${Rooms} site=${site} rooms=${rooms} rows=${rows} />`}
      ${
        open &&
        mayWrite(site, 'room') &&
        html`<div class="side-by-side">
        <a class="button plain" href=${`/s/${site.id}/floor/${floor.id}/add`}>${say('survey.add-a-room-here')}</a>
        <a class="button plain" href=${`/s/${site.id}/floor/${floor.id}`}>${say('survey.for-all-rooms')}</a>
        <a class="button plain" href=${`/s/${site.id}/floors/${floor.id}`}>${say('rooms.more-of-floor')}</a>
      </div>`
      }
    </div>
  </section>`;
}

/** @param {{site: Site, rooms: RecordView<'room'>[], rows: Map<string, Summary>}} props */
function Rooms({ site, rooms, rows }) {
  if (rooms.length === 0) return null;
  return html`<ul class="rows">
    ${rooms.map((room) => html`<${Row} key=${room.id} href=${`/s/${site.id}/room/${room.id}`} title=${titleOf(room)} detail=${howMuch(rows.get(room.id))} more=${rows.get(room.id)?.groups && mayRead(site, 'cavity_reading') ? html`<${RoomVerdict} site=${site} room=${room.id} />` : null} end=${html`<${RoomMarks} room=${room} row=${rows.get(room.id)} />`} />`)}
  </ul>`;
}

/** @param {Summary | undefined} row */
export const howMuch = (row) =>
  row?.groups
    ? `${counted(row.groups, 'group')}, ${counted(row.fixtures, 'fixture')}`
    : say('survey.nothing-entered');

/** What a room says of itself in a list. @param {{room: RecordView<'room'>, row: Summary | undefined}} props */
export function RoomMarks({ room, row }) {
  const progress = room.facets.progress?.progress ?? 'not-visited';
  const waiting = (row?.unsent ?? 0) + (row?.photos_unsent ?? 0);
  return html`<span class="marks">
    <${Mark} look=${progress === 'surveyed' || progress === 'nothing-to-convert' ? 'done' : ''}>${choiceText(progress)}<//>
    ${row && row.conflicts > 0 && html`<${Mark} look="attention">${counted(row.conflicts, 'conflict')}<//>`}
    ${waiting > 0 && html`<${Mark} look="unsent">${say('survey.not-sent', { waiting })}<//>`}
  </span>`;
}
