// The walk: floors and rooms in the order in which one meets them, and how far each is.

import { useLive } from '../hooks.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { Mark, Row } from '../parts/parts.js';
import { mayWrite, titleOf } from '../places.js';
import { inFloorOrder, inWalkOrder } from './survey.js';
import { choiceText, counted, say } from '../words.js';

/** Floors, rooms and what each room's row counts; nothing below a room. @param {Site} site */
export async function readWalk(site) {
  const [floors, rooms, rows] = await Promise.all([site.all('floor'), site.all('room'), site.summaries()]);
  return {
    floors: inFloorOrder(floors),
    rooms: inWalkOrder(rooms),
    rows: new Map(rows.map((row) => [row.room, row])),
  };
}

/** @param {{site: Site}} props */
export function Walk({ site }) {
  const read = useLive(() => readWalk(site), [site.id]);
  if (!read) return html`<${Page} title=${site.name} over=${say('survey.walk')} back="/" site=${site.id} />`;
  const placed = new Set(read.floors.map((floor) => floor.id));
  const lost = read.rooms.filter((room) => !placed.has(room.parent ?? ''));
  return html`<${Page} title=${site.name} over=${say('survey.walk')} back="/" site=${site.id}>
    <${Links} site=${site} />
    ${read.floors.map((floor) => html`<${Floor} key=${floor.id} site=${site} floor=${floor} rooms=${read.rooms.filter((room) => room.parent === floor.id)} rows=${read.rows} />`)}
    ${lost.length > 0 && html`<section class="floor"><h2>${say('survey.on-no-floor-that-is')}</h2><${Rooms} site=${site} rooms=${lost} rows=${read.rows} /></section>`}
    ${mayWrite(site, 'floor') && html`<a class="button wide" href=${`/s/${site.id}/floor/new`}>${say('survey.add-a-floor')}</a>`}
  <//>`;
}

/** Ways on from a site: [address below it, name, roles that need it, all when absent]. @type {Array<[string, string, string[]?]>} */
const LINKS = [
  ['work', 'survey.way.work'],
  ['scan', 'survey.way.scan'],
  ['kinds', 'survey.way.kinds'],
  ['open-points', 'survey.way.open-points', ['surveyor', 'manager', 'owner']],
  ['conflicts', 'survey.way.conflicts', ['surveyor', 'manager', 'owner']],
  ['unsent', 'survey.way.unsent'],
  ['desk', 'survey.way.desk', ['surveyor', 'manager', 'owner']],
];
/** What the crew comes for. */
const CREW_FIRST = new Set(['work', 'scan']);

/** @param {{site: Site}} props */
function Links({ site }) {
  const mine = LINKS.filter(([, , roles]) => !roles || roles.includes(site.role));
  const first = mine.filter(([path]) => CREW_FIRST.has(path));
  const others = mine.filter(([path]) => !CREW_FIRST.has(path));
  const ordered = site.role === 'crew' ? [...first, ...others] : [...others, ...first];
  return html`<nav class="links" aria-label=${say('survey.this-site')}>
    ${ordered.map(([path, name]) => html`<a key=${path} class="button" href=${`/s/${site.id}/${path}`}>${say(name)}</a>`)}
  </nav>`;
}

/** @param {{site: Site, floor: RecordView<'floor'>, rooms: RecordView<'room'>[], rows: Map<string, Summary>}} props */
function Floor({ site, floor, rooms, rows }) {
  const fixtures = rooms.reduce((sum, room) => sum + (rows.get(room.id)?.fixtures ?? 0), 0);
  return html`<section class="floor" aria-label=${titleOf(floor)}>
    <h2><span>${titleOf(floor)}</span><span class="muted small">${counted(rooms.length, 'room')}, ${counted(fixtures, 'fixture')}</span></h2>
    <${Rooms} site=${site} rooms=${rooms} rows=${rows} />
    ${mayWrite(site, 'room') && html`<a class="button plain" href=${`/s/${site.id}/floor/${floor.id}/add`}>${say('survey.add-a-room-here')}</a>`}
  </section>`;
}

/** @param {{site: Site, rooms: RecordView<'room'>[], rows: Map<string, Summary>}} props */
function Rooms({ site, rooms, rows }) {
  if (rooms.length === 0) return null;
  return html`<ul class="rows">
    ${rooms.map((room) => html`<${Row} key=${room.id} href=${`/s/${site.id}/room/${room.id}`} title=${titleOf(room)} detail=${howMuch(rows.get(room.id))} end=${html`<${RoomMarks} room=${room} row=${rows.get(room.id)} />`} />`)}
  </ul>`;
}

/** @param {Summary | undefined} row */
const howMuch = (row) =>
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
