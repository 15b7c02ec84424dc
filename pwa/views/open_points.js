// What keeps the site, or one room of it, from being complete: a sentence each, who can close it, and the way there.

import { useState } from 'preact/hooks';
import { openPoints } from '../rules/open_points.js';
import { store } from '../store/store.js';
import { useLive } from './hooks.js';
import { html } from './html.js';
import { Chips } from './inputs/fields.js';
import { OpenPoint } from './parts/open_point.js';
import { Page } from './parts/page.js';
import { titleOf } from './places.js';
import { counted, say } from './words.js';

const MINE = 'for-me';
const ALL = 'for-all';
/** More rows than this are drawn only when asked for. */
const FIRST = 60;

/** @param {{site: Site}} props */
export function OpenPoints({ site }) {
  const room = new URLSearchParams(location.search).get('room');
  const [whose, setWhose] = useState(ALL);
  const [most, setMost] = useState(FIRST);
  const read = useLive(async () => {
    const [records, unsent] = await Promise.all([site.everything(), site.unsent()]);
    const here = new Map(records.map((record) => [record.id, record]));
    return { here, points: openPoints(records, factsOf(records, unsent), store.tables.reference) };
  }, [site.id]);
  if (!read)
    return html`<${Page} title=${say('page.still-open')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}><p role="status">${say('page.looking-through-the-site')}</p><//>`;
  const inRoom = read.points.filter((point) => room === null || point.room === room);
  const points = inRoom.filter((point) => whose === ALL || point.who.includes(site.role));
  const place = read.here.get(room ?? '');
  const back = room ? `/s/${site.id}/room/${room}` : `/s/${site.id}`;
  return html`<${Page} title=${say('page.still-open')} over=${place ? titleOf(place) : site.name} back=${back} site=${site.id}>
    <p class="strong">${points.length ? counted(points.length, 'open-point') : say('readings.nothing-open')}</p>
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

/** What only this phone knows: its own photos that have not arrived. @param {RecordView[]} records @param {Awaited<ReturnType<Site['unsent']>>} unsent */
function factsOf(records, unsent) {
  const waiting = new Set(unsent.photos.map((photo) => photo.sha256));
  const photos = records.filter((record) => record.type === 'photo' && !record.removed);
  const arrived = photos
    .map((photo) => photo.facets.identity?.sha256)
    .filter((sha256) => !waiting.has(sha256));
  return { photos_arrived: arrived, devices: [] };
}

/** @param {import('../rules/open_points.js').OpenPoint[]} points @param {Map<string, RecordView>} here @returns {Array<[string, import('../rules/open_points.js').OpenPoint[]]>} */
function byFloor(points, here) {
  /** @type {Map<string, import('../rules/open_points.js').OpenPoint[]>} */
  const floors = new Map();
  for (const point of points) {
    const floor = here.get(point.floor ?? '');
    const name = floor ? titleOf(floor) : say('page.the-whole-site');
    floors.set(name, [...(floors.get(name) ?? []), point]);
  }
  return [...floors];
}
