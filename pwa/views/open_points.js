// What keeps the site, or one room of it, from being complete: a sentence each, who can close it, and the way there.

import { useState } from 'preact/hooks';
import { openPoints } from '../rules/points/open_points.js';
import { store } from '../store/store.js';
import { html } from './html.js';
import { Chips } from './inputs/fields.js';
import { Beside, useBeside } from './parts/beside.js';
import { closedBy, OpenPoint } from './parts/open_point.js';
import { textOnceHeard } from './parts/fetching.js';
import { Page } from './parts/page.js';
import { useReadAndHeard } from './parts/when_heard.js';
import { titleOf } from './record_screens.js';
import { counted, say } from './words.js';

const MINE = 'for-me';
const ALL = 'for-all';
/** More rows than this are drawn only when asked for. */
const FIRST = 60;

/** Which point was looked at last, and where in the list it stood, by site. @type {Map<string, {key: string, place: number}>} */
const looked = new Map();

/** @typedef {import('../rules/points/open_points.js').OpenPoint} Point */

/** Every open point of a site, by what is on this phone. @param {Site} site */
export async function pointsOfSite(site) {
  const [records, unsent] = await Promise.all([site.everything(), site.unsent()]);
  const here = new Map(records.map((record) => [record.id, record]));
  return { here, points: openPoints(records, factsOf(records, unsent), store.tables.reference) };
}

/** @param {{site: Site}} props */
export function OpenPoints({ site }) {
  const room = new URLSearchParams(location.search).get('room');
  const [whose, setWhose] = useState(ALL);
  const [most, setMost] = useState(FIRST);
  const held = useReadAndHeard(site, () => pointsOfSite(site), [site.id]);
  const wide = useBeside();
  if (!held)
    return html`<${Page} title=${say('place.open-points')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}><p role="status">${say('page.looking-through-the-site')}</p><//>`;
  const { heard, read } = held;
  const inRoom = read.points.filter((point) => room === null || point.room === room);
  const points = inRoom.filter((point) => whose === ALL || point.who.includes(site.role));
  const place = read.here.get(room ?? '');
  const back = room ? `/s/${site.id}/room/${room}` : `/s/${site.id}`;
  if (wide && read.points.length > 0)
    return html`<${Page} title=${say('place.open-points')} over=${place ? titleOf(place) : site.name} back=${back} site=${site.id} look="beside">
      <${AtADesk} site=${site} points=${points} here=${read.here} whose=${whose} onWhose=${setWhose} />
    <//>`;
  return html`<${Page} title=${say('place.open-points')} over=${place ? titleOf(place) : site.name} back=${back} site=${site.id}>
    <p class="strong">${points.length ? counted(points.length, 'open-point') : textOnceHeard(site, heard, say('readings.nothing-open'))}</p>
    <${Chips} name="whose" title=${say('page.show')} choices=${[ALL, MINE]} value=${whose} onChange=${setWhose} />
    ${byFloor(points.slice(0, most), read.here).map(
      ([floor, theirs]) => html`<section class="stack" key=${floor} aria-label=${floor}>
      <h2>${floor}</h2>
      <ul class="rows">${theirs.map((point) => html`<${OpenPoint} key=${`${point.rule} ${point.record}`} point=${point} site=${site} />`)}</ul>
    </section>`,
    )}
    ${points.length > most && html`<button class="button wide" onClick=${() => setMost(most * 4)}>${say('page.show-more-left', { left: points.length - most })}</button>`}
  <//>`;
}

/** @param {Point} point */
const keyOf = ({ rule, record }) => `${rule} ${record}`;

/**
 * The list beside the point that is looked at. Back from its screen the same one stands there, or, once it is closed, the
 * one that stood after it.
 *
 * @param {{site: Site, points: Point[], here: Map<string, RecordView>, whose: string, onWhose: (whose: string) => void}} props
 */
function AtADesk({ site, points, here, whose, onWhose }) {
  const [seenLast, setSeenLast] = useState(looked.get(site.id) ?? { key: '', place: 0 });
  const at = points.findIndex((point) => keyOf(point) === seenLast.key);
  const shown = points[at >= 0 ? at : Math.min(seenLast.place, points.length - 1)];
  /** @param {string} key */
  const pick = (key) => {
    const next = { key, place: points.findIndex((point) => keyOf(point) === key) };
    looked.set(site.id, next);
    setSeenLast(next);
  };
  const rows = points.map((point) => ({
    id: keyOf(point),
    title: say(`open-point.${point.rule}`, point.facts),
    detail: placeOf(point, here),
  }));
  return html`<${Beside} name=${`points ${site.id}`} label=${say('place.open-points')} rows=${rows} here=${shown && keyOf(shown)} onPick=${pick} />
    <p class="strong">${points.length ? counted(points.length, 'open-point') : say('readings.nothing-open')}</p>
    <${Chips} name="whose" title=${say('page.show')} choices=${[ALL, MINE]} value=${whose} onChange=${onWhose} />
    ${shown && html`<${OnePoint} key=${keyOf(shown)} site=${site} point=${shown} points=${points} here=${here} />`}`;
}

/** Floor and room of a point, or the site. @param {Point} point @param {Map<string, RecordView>} here */
function placeOf(point, here) {
  const names = [point.floor, point.room]
    .map((id) => here.get(id ?? ''))
    .flatMap((record) => (record ? [titleOf(record)] : []));
  return names.join(' · ') || say('page.the-whole-site');
}

/** One point: where, who can close it, what else is open there, and the way. @param {{site: Site, point: Point, points: Point[], here: Map<string, RecordView>}} props */
function OnePoint({ site, point, points, here }) {
  const others = points.filter((each) => each !== point && each.room !== null && each.room === point.room);
  return html`<section class="card stack" aria-label=${say('desk-points.this-point')} data-rule=${point.rule}>
      <p class="muted small">${placeOf(point, here)}</p>
      <h2>${say(`open-point.${point.rule}`, point.facts)}</h2>
      <p>${closedBy(point, site)}</p>
      <a class="button main" href=${point.path}>${say('desk-points.go-there')}</a>
    </section>
    ${
      others.length > 0 &&
      html`<section class="stack" aria-label=${say('desk-points.others')}>
      <h2>${say('desk-points.others')}</h2>
      <ul class="rows">${others.map((each) => html`<${OpenPoint} key=${keyOf(each)} point=${each} site=${site} />`)}</ul>
    </section>`
    }`;
}

/** What only this phone knows: its own photos that have not arrived. @param {RecordView[]} records @param {Awaited<ReturnType<Site['unsent']>>} unsent */
function factsOf(records, unsent) {
  const waiting = new Set(unsent.photos.map((photo) => photo.sha256));
  const photos = records.filter((record) => record.type === 'photo' && !record.removed);
  const arrived = photos
    .map((photo) => photo.facets.identity?.sha256)
    .filter((sha256) => !waiting.has(sha256));
  return { photos_arrived: arrived, devices: [] };
}

/** @param {import('../rules/points/open_points.js').OpenPoint[]} points @param {Map<string, RecordView>} here @returns {Array<[string, import('../rules/points/open_points.js').OpenPoint[]]>} */
function byFloor(points, here) {
  /** @type {Map<string, import('../rules/points/open_points.js').OpenPoint[]>} */
  const floors = new Map();
  for (const point of points) {
    const floor = here.get(point.floor ?? '');
    const name = floor ? titleOf(floor) : say('page.the-whole-site');
    floors.set(name, [...(floors.get(name) ?? []), point]);
  }
  return [...floors];
}
