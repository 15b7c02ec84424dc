// What others have entered since one last looked, room by room, the newest first.

import { useEffect, useState } from 'preact/hooks';
import { store } from '../../store/store.js';
import { html } from '../html.js';
import { Page } from '../parts/page.js';
import { Row } from '../parts/parts.js';
import { titleOf } from '../record_screens.js';
import { counted, say, timeText } from '../words.js';
import { newsOf, NOWHERE, together } from './news.js';
import { throughAll } from './slices.js';

const WEEK_MS = 7 * 24 * 3600 * 1000;
const MOST = 40;
const DEEPEST = 6;

/** @param {string} site */
const keyOf = (site) => `spanwalk:seen:${store.person?.id ?? ''}:${site}`;

/** @param {string} site */
function seenAt(site) {
  try {
    return localStorage.getItem(keyOf(site));
  } catch {
    return null;
  }
}

/** @typedef {{rooms: Array<{room: RecordView | undefined, news: import('./news.js').News}>}} Looked */

/** @param {{site: Site}} props */
export function WhatIsNew({ site }) {
  const [seen, setSeen] = useState(() => seenAt(site.id));
  const [looked, setLooked] = useState(/** @type {Looked | null} */ (null));
  useEffect(() => {
    let wanted = true;
    look(site, seen ?? new Date(Date.now() - WEEK_MS).toISOString(), () => wanted).then((found) => {
      if (found && wanted) setLooked(found);
    });
    return () => {
      wanted = false;
    };
  }, [seen]);
  const mark = () => {
    const now = new Date().toISOString();
    localStorage.setItem(keyOf(site.id), now);
    setLooked(null);
    setSeen(now);
  };
  const rooms = looked?.rooms ?? [];
  return html`<${Page} title=${say('place.new')} over=${site.name} back=${`/s/${site.id}`} site=${site.id}>
    <p class="muted">${seen ? say('new.since', { at: timeText(seen) }) : say('new.first')}</p>
    ${!looked && html`<p role="status">${say('new.looking')}</p>`}
    ${looked && rooms.length === 0 && html`<p role="status">${say('new.none')}</p>`}
    ${
      rooms.length > 0 &&
      html`<ul class="rows">${rooms.slice(0, MOST).map(
        ({ room, news }) =>
          html`<${Row} key=${room?.id ?? NOWHERE} href=${room ? `/s/${site.id}/room/${room.id}` : `/s/${site.id}/kinds`}
              title=${room ? titleOf(room) : site.name} detail=${`${say('new.row', { entries: counted(news.entries, 'entry'), people: [...news.people].map((each) => store.personName(each)).join(', ') })} · ${timeText(news.newest)}`}
              end="→" />`,
      )}</ul>
      ${rooms.length > MOST && html`<p class="muted">${say('new.rooms-more', { more: rooms.length - MOST })}</p>`}
      <button type="button" class="button wide" onClick=${mark}>${say('new.seen')}</button>`
    }
  <//>`;
}

/** @param {Site} site @param {string} since @param {() => boolean} wanted @returns {Promise<Looked | null>} */
async function look(site, since, wanted) {
  /** @type {Map<string, {type: string, parent: string | null}>} */
  const way = new Map();
  /** @type {Array<[string, import('./news.js').News]>} */
  const all = [];
  const whole = await throughAll(
    site,
    (records) => {
      for (const record of records) {
        way.set(record.id, { type: record.type, parent: record.parent });
        const news = newsOf(record, since, store.person?.id ?? '');
        if (news) all.push([record.id, news]);
      }
    },
    wanted,
  );
  if (!whole) return null;
  /** @type {Map<string, import('./news.js').News>} */
  const byRoom = new Map();
  for (const [id, news] of all) {
    const room = roomOf(id, way);
    byRoom.set(room, together(byRoom.get(room), news));
  }
  const rooms = await Promise.all(
    [...byRoom].map(async ([id, news]) => ({ room: await site.get(id), news })),
  );
  return { rooms: rooms.sort((a, b) => (a.news.newest < b.news.newest ? 1 : -1)) };
}

/** @param {string} id @param {Map<string, {type: string, parent: string | null}>} way */
function roomOf(id, way) {
  let at = id;
  for (let step = 0; step < DEEPEST; step++) {
    const record = way.get(at);
    if (record?.type === 'room') return at;
    at = record?.parent ?? NOWHERE;
  }
  return NOWHERE;
}
